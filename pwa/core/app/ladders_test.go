package app_test

import (
	"reflect"
	"strings"
	"testing"

	"evenhold/internal/sessions"
)

// onStep opens the page of a step of the ladders.
func (p *phone) onStep(id string) {
	p.t.Helper()
	p.visit("/practice/ladders/" + id)
	p.shows("plan", "")
}

// set changes a number of the step on the screen.
func (p *phone) set(field string, value any) {
	p.t.Helper()
	p.do("ladder.set", object{"item": 0, "field": field, "value": value})
}

// tested is a client who held 41 s and 58 s in the straight-leg test.
func (p *phone) tested(name string) (doc string) {
	p.t.Helper()
	doc = p.addClient(name, "massG", "70", "statureMM", "172")
	p.screen(doc)
	p.takeTest(doc, 41_300, 58_900)
	return doc
}

// sessionLines are what the person's page says of the latest session.
func (p *phone) sessionLines() (lines []any) {
	p.t.Helper()
	each(p.view, func(o object) {
		if title, is := o["title"].(object); is && title["k"] == "log.session" && lines == nil {
			lines = o["lines"].([]any)
		}
	})
	if len(lines) == 0 {
		p.t.Fatalf("no session on %s", p.text())
	}
	return lines
}

// TestLadders_Loop: what a practice changes of a step is in the next suggestion; the plan
// that was accepted before, and the session done by it, keep what they were made with and
// say so.
func TestLadders_Loop(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Eve L.")
	p.beginWork()
	p.series()
	p.act("work.feel")
	p.act("work.finish", "effort", "4", "pain", "0")
	before := p.sessionLines()
	p.saysNot("ladders.since")

	p.onStep("straight_leg_hold")
	p.set("holdMS", 7)
	if got := p.stepper("holdMS/0")["value"]; got != 7.0 {
		t.Fatalf("the hold is %v s after it was set to 7", got)
	}
	p.act("ladder.cues", "cue1", "Belt buckle up", "cue2", "", "cue3", "")

	p.visit("/p/" + doc)
	p.says("ladders.since", "ladders.as_shipped")
	after := p.sessionLines()
	if len(after) != len(before)+1 || !reflect.DeepEqual(after[:len(before)], before) {
		t.Errorf("the session that was done says %v, and said %v", after, before)
	}
	p.visit("/p/" + doc + "/plan")
	p.says("ladders.since")
	if got := p.stepper("holdMS/0")["value"]; got != 10.0 {
		t.Errorf("the accepted plan holds %v s, want the 10 it was made with", got)
	}

	other := p.tested("Ann M.")
	p.visit("/p/" + other + "/plan")
	p.saysNot("ladders.since")
	if got := p.stepper("holdMS/0")["value"].(float64); got > 7 {
		t.Errorf("the next plan is suggested with %v s, the ladder says 7", got)
	}
	p.act("plan.accept")
	p.visit("/p/" + other)
	p.beginWork()
	p.act("work.start")
	if said := p.texts("plain"); !hasText(said, "Belt buckle up") {
		t.Errorf("the practice's own cue is not said: %s", p.text())
	}
	p.says("cue.one_line") // the second is ours still
	p.exchange()
	version := p.records(other, sessions.KindItem)[0]["ladder"].(string)
	if first := p.records(doc, "item")[0]["ladder"]; !strings.HasPrefix(version, first.(string)+"-") {
		t.Errorf("the versions are %v and then %v", first, version)
	}
	for _, kind := range []string{sessions.KindSession, sessions.KindDecision} {
		if got := p.records(other, kind)[0]["ladder"]; got != version {
			t.Errorf("the %s was made by %v, want %v", kind, got, version)
		}
	}
}

func hasText(said []object, want string) bool {
	for _, args := range said {
		if args["text"] == want {
			return true
		}
	}
	return false
}

// TestLadders_Cues: a client's phone has no ladders of the practice, yet it says the
// practice's own cue, for it came with the plan.
func TestLadders_Cues(t *testing.T) {
	coach := newHouse(t).owner()
	coach.onStep("straight_leg_hold")
	coach.act("ladder.cues", "cue1", "Belt buckle up", "cue2", "", "cue3", "")
	doc := coach.planned("Eve L.")
	client := coach.client(doc)
	client.visit("/")
	client.beginWork()
	client.act("work.start")
	if said := client.texts("plain"); !hasText(said, "Belt buckle up") {
		t.Errorf("the client hears %s", client.text())
	}
	client.visit("/plan")
	client.saysNot("ladders.since")
}

// TestLadders_Ship: everything about a step goes back to how we ship it, and then nothing
// made before or after is told apart.
func TestLadders_Ship(t *testing.T) {
	p := newHouse(t).owner()
	p.onStep("bent_knee_hold")
	shipped := p.view
	p.set("holdMS", "8")
	p.set("entryStraightLegMS", 20)
	p.act("ladder.cues", "cue1", "Up", "cue2", "", "cue3", "")
	p.act("ladder.hide")
	p.tap(p.offers("ladder.move")[0])
	p.says("ladders.ship", "ladders.unhide")
	p.visit("/practice/ladders")
	p.says("ladders.own", "ladders.hidden")
	p.onStep("bent_knee_hold")
	p.act("ladder.ship")
	for _, part := range []string{"items", "fields", "actions", "lines"} {
		if !reflect.DeepEqual(p.view[part], shipped[part]) {
			t.Errorf("set back the %s are\n%v\nwere\n%v", part, p.view[part], shipped[part])
		}
	}
	p.visit("/practice/ladders")
	p.says("ladders.as_shipped")
	p.saysNot("ladders.changed", "ladders.hidden", "ladders.own")
}

// TestLadders_Order: a step that is moved up stands before the one it was behind.
func TestLadders_Order(t *testing.T) {
	p := newHouse(t).owner()
	titles := func() (all []string) {
		p.visit("/practice/ladders")
		rows := p.view["sections"].([]any)[2].(object)["rows"].([]any)
		for _, row := range rows {
			all = append(all, row.(object)["title"].(object)["k"].(string))
		}
		return all
	}
	before := titles()
	p.onStep("rack_carry")
	p.tap(p.offers("ladder.move")[0])
	after := titles()
	if before[3] != "step.rack_carry.name" || after[2] != before[3] || after[3] != before[2] {
		t.Errorf("moved up: %q, before: %q", after, before)
	}
	p.onStep("suitcase_carry")
	p.says("ladders.stays")
	p.refused("ladder.hide", object{}, "last_item")
	p.refused("ladder.move", object{"up": true}, "phase")
}

// TestLadders_Refused: what is outside the bounds is refused with the range, and what
// stood there stays. No gate goes under half of the shipped 30 s.
func TestLadders_Refused(t *testing.T) {
	p := newHouse(t).owner()
	p.onStep("straight_leg_hold")
	for _, tt := range []struct {
		field string
		value any
		code  string
	}{
		{"holdMS", 11, "field"}, {"holdMS", 0, "field"}, {"exitPain", 3, "field"},
		{"exitEffort", 9, "field"}, {"restSetMS", 10, "field"}, {"entryStraightLegMS", 14, "field"},
		{"sets", "many", "field"}, {"sets", 6, "field"}, {"timeMS", 30, "unknown_record"},
		{"startPercent", 30, "unknown_record"}, {"hidden", 1, "unknown_record"},
	} {
		p.refused("ladder.set", object{"item": 0, "field": tt.field, "value": tt.value}, tt.code)
	}
	p.refused("ladder.set", object{"item": 0, "field": "entryStraightLegMS", "value": 14}, "field")
	if got := p.texts("bounds.ladder"); len(got) == 0 || got[0]["min"] != 15.0 {
		t.Errorf("the refusal says %v, want a least of 15", got)
	}
	if got := p.stepper("entryStraightLegMS/0")["value"]; got != 30.0 {
		t.Errorf("the gate is %v after the refusal", got)
	}
	long := strings.Repeat("long ", 10)
	p.refused("ladder.cues", object{"values": object{"cue1": long}}, "field")
	if got := p.field("cue1")["value"]; got != long {
		t.Errorf("typed was %q, kept is %v", long, got)
	}
	p.visit("/practice/ladders")
	p.says("ladders.as_shipped")
	p.refused("ladder.ship", object{}, "unknown_record")
	p.do("go", object{"route": "/practice/ladders/from_tomorrow"})
	p.says("ladders.title")
}

// TestLadders_Merge: two coaches change a step without a network. Different numbers are
// both kept; of one number both values are listed, and the owner keeps one.
func TestLadders_Merge(t *testing.T) {
	owner := newHouse(t).owner()
	one := owner.colleague(sessions.Coach, "Kim Example")
	two := owner.colleague(sessions.Coach, "Lee Example")
	one.onStep("wall_lean")
	two.onStep("wall_lean")
	one.set("holdMS", 8)
	one.set("restSetMS", 45)
	two.set("holdMS", 6)
	two.set("sets", 2)
	one.exchange()
	two.exchange()
	owner.exchange()
	owner.onStep("wall_lean")
	for field, want := range map[string]float64{"restSetMS/0": 45, "sets/0": 2} {
		if got := owner.stepper(field)["value"]; got != want {
			t.Errorf("%s is %v, want %v", field, got, want)
		}
	}
	owner.says("conflict.title")
	if kept := owner.offers("conflict.keep"); len(kept) != 2 {
		t.Fatalf("%d values are offered, want 2: %s", len(kept), owner.text())
	}
	shown := owner.stepper("holdMS/0")["value"]
	owner.tap(owner.offers("conflict.keep")[1])
	if got := owner.stepper("holdMS/0")["value"]; got == shown {
		t.Errorf("the other value was kept, shown is still %v", got)
	}
	owner.saysNot("conflict.title")
	owner.exchange()
	one.exchange()
	one.onStep("wall_lean")
	if got, want := one.stepper("holdMS/0")["value"], 14-shown.(float64); got != want {
		t.Errorf("the other phone shows %v, want %v", got, want)
	}
}

// TestLadders_Roles: an assistant sees the ladders and cannot change them.
func TestLadders_Roles(t *testing.T) {
	owner := newHouse(t).owner()
	assistant := owner.colleague(sessions.Assistant, "Sam Example")
	assistant.onStep("wall_lean")
	assistant.says("practice.read_only", "ladders.start")
	if len(assistant.offers("ladder.cues"))+len(assistant.offers("ladder.hide")) > 0 {
		t.Error("an assistant is offered to change a step")
	}
	assistant.refused("ladder.set", object{"item": 0, "field": "holdMS", "value": 8}, "role")
	assistant.refused("ladder.cues", object{"values": object{"cue1": "x"}}, "role")
	doc := owner.planned("Eve L.")
	client := owner.client(doc)
	client.do("go", object{"route": "/practice/ladders/wall_lean"})
	client.saysNot("ladders.start")
	client.refused("ladder.set", object{"item": 0, "field": "holdMS", "value": 8}, "unknown_record")
}
