package app_test

import (
	"reflect"
	"strings"
	"testing"

	"evenhold/internal/sessions"
)

// decideOn opens the decision on the first exercise of the plan.
func (p *phone) decideOn(doc string) {
	p.t.Helper()
	p.visit("/p/" + doc)
	for _, section := range p.view["sections"].([]any) {
		for _, row := range section.(object)["rows"].([]any) {
			if route, is := row.(object)["route"].(string); is && strings.Contains(route, "/next/") {
				p.visit(route)
				return
			}
		}
	}
	p.t.Fatal("no exercise offers a decision")
}

// TestDecision: before any session the plan stays, with the rules that say so; another
// choice needs a reason, and what was suggested, chosen and why is kept as a record.
func TestDecision(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Ada M.")
	p.decideOn(doc)
	p.says("decide.suggest_stay", "rule.no_session", "decide.why")
	item := p.route[strings.LastIndex(p.route, "/")+1:]
	p.refused("decide.keep", object{
		"item": item, "values": object{"chosen": "progress", "reason": ""},
	}, "field")
	p.says("error.reason")
	p.act("decide.keep", "chosen", "progress", "reason", "strong today")
	if p.route != "/p/"+doc+"/plan" {
		t.Errorf("a choice of one's own goes on at %s, not at the plan's numbers", p.route)
	}
	p.exchange()
	var made []object
	for _, decision := range p.records(doc, sessions.KindDecision) {
		if decision["about"] != "plan" {
			made = append(made, decision)
		}
	}
	if len(made) != 1 || made[0]["state"] != "changed" || made[0]["suggested"] != "stay" ||
		made[0]["chosen"] != "progress" || made[0]["reason"] != "strong today" ||
		!strings.Contains(made[0]["rules"].(string), "rule.no_session") {
		t.Errorf("kept as %v", made)
	}
	p.visit("/p/" + doc)
	p.says("decide.made_because")
	p.decideOn(doc)
	p.says("decide.before")
}

// TestDecision_Pain: pain of 6 of 10 is past the band that stops work (pain-monitoring
// model, Am J Sports Med 2007;35(6):897-906, from memory): a clinician is to be asked,
// and no dose is suggested.
func TestDecision_Pain(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Bo F.")
	p.beginWork()
	p.act("work.feel")
	p.act("work.finish", "effort", "4", "pain", "6")
	p.decideOn(doc)
	p.says("decide.suggest_refer", "rule.pain_over_5", "ask.clinician", "decide.waits_lead")
	if got := len(p.texts("dose.hold")); got != 1 {
		t.Errorf("%d doses are shown, want the present one only", got)
	}
}

// TestDecision_Flag: with an open red flag the reason stands there and nothing can be
// accepted.
func TestDecision_Flag(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Cy G.")
	p.decideOn(doc)
	route := p.route
	p.screen(doc, sessions.Questions()[0].ID)
	p.visit(route)
	p.says("plan.withheld", "rule.red_flag_open", "care.flag_ask")
	p.saysNot("decide.keep", "decide.decline")
}

// TestDecision_Kept: one suggestion is declined, then changed, then accepted. Declining asks for
// a reason and leaves the plan as it is; all three stay, on the server and, newest first, on the
// screen, each with its reason, and a fresh start of the phone shows them again.
func TestDecision_Kept(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Ida R.")
	reps := p.ledReps(doc)
	p.trains(doc, "4", "1")
	p.trains(doc, "4", "1")
	p.decideOn(doc)
	p.says("decide.suggest_progress")
	item := p.route[strings.LastIndex(p.route, "/")+1:]
	p.refused("decide.decline", object{
		"item": item, "values": object{"chosen": "progress", "reason": " "},
	}, "field")
	p.says("error.reason")
	p.act("decide.decline", "chosen", "progress", "reason", "race on Sunday")
	p.says("said.decided")
	if got := p.ledReps(doc); got != reps {
		t.Errorf("declined, the first set has %v repetitions, want %v as before", got, reps)
	}
	p.wait(60_000)
	p.decideOn(doc)
	p.act("decide.keep", "chosen", "stay", "reason", "one more week")
	p.wait(60_000)
	p.accept(doc, "progress")
	if got := p.ledReps(doc); got != reps+1 {
		t.Errorf("accepted, the first set has %v repetitions, want %v", got, reps+1)
	}
	p.exchange()
	var kept [][4]any
	for _, made := range p.records(doc, sessions.KindDecision) {
		if made["about"] == item {
			kept = append(kept,
				[4]any{made["state"], made["suggested"], made["chosen"], made["reason"]})
		}
	}
	want := [][4]any{
		{"declined", "progress", "stay", "race on Sunday"},
		{"changed", "progress", "stay", "one more week"},
		{"accepted", "progress", "progress", nil},
	}
	if !reflect.DeepEqual(kept, want) {
		t.Errorf("the server keeps %v, want %v", kept, want)
	}
	shown := [][2]any{
		{"decide.state_accepted", nil}, {"decide.state_changed", "one more week"},
		{"decide.state_declined", "race on Sunday"},
	}
	for _, start := range []string{"at once", "after a fresh start"} {
		p.decideOn(doc)
		if got := p.history(); !reflect.DeepEqual(got, shown) {
			t.Errorf("%s the screen shows %v, want %v", start, got, shown)
		}
		p.reload()
	}
}

// history is each decision that the screen shows, with its reason.
func (p *phone) history() (all [][2]any) {
	p.t.Helper()
	for _, section := range p.view["sections"].([]any) {
		if title, is := section.(object)["title"].(object); !is || title["k"] != "decide.before" {
			continue
		}
		for _, row := range section.(object)["rows"].([]any) {
			made := row.(object)["lines"].([]any)[0].(object)["a"].(object)
			one := [2]any{row.(object)["reason"].(object)["k"], nil}
			if why, is := made["why"].(object); is {
				one[1] = why["a"].(object)["text"]
			}
			all = append(all, one)
		}
	}
	return all
}
