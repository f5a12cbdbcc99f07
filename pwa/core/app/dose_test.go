package app_test

import (
	"reflect"
	"testing"
)

// course is the drawn prediction of the first exercise.
func (p *phone) course() any {
	p.t.Helper()
	return p.view["items"].([]any)[0].(object)["course"]
}

// pin touches the word beside a number that says whether it stays.
func (p *phone) pin(stepper string) {
	p.t.Helper()
	p.tap(p.stepper(stepper)["pin"].(object))
}

// TestDoseFollows: a number that the coach sets stays, the rest follow and the prediction
// moves; undo brings back what was there, and a number can be let go again.
func TestDoseFollows(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Ned A.", "massG", "70", "statureMM", "175")
	p.screen(doc)
	p.takeTest(doc, 40_000, 62_000)
	p.visit("/p/" + doc + "/plan")
	p.says("course.title", "course.reserve", "fit.in_band")
	course, sets := p.course(), p.stepper("sets/0")["value"]
	p.do("plan.set", object{"item": 0, "field": "reps", "value": 8})
	if p.stepper("reps/0")["value"] != 8.0 || reflect.DeepEqual(p.course(), course) {
		t.Errorf("after the change: %s", p.text())
	}
	p.says("plan.stays", "said.dose")
	p.act("plan.undo")
	p.saysNot("plan.stays")
	if !reflect.DeepEqual(p.course(), course) || p.stepper("sets/0")["value"] != sets {
		t.Errorf("undo leaves %s", p.text())
	}
	p.do("plan.set", object{"item": 0, "field": "reps", "value": 8})
	p.reload()
	p.visit("/p/" + doc + "/plan")
	p.pin("reps/0")
	if !reflect.DeepEqual(p.course(), course) {
		t.Errorf("let go again: %s", p.text())
	}
	p.pin("restSetMS/0") // kept without a change
	p.do("plan.set", object{"item": 0, "field": "holdMS", "value": 7})
	p.act("plan.accept")
	p.visit("/p/" + doc + "/plan")
	p.says("course.title")
	p.exchange()
	if got := p.records(doc, "item")[0]["pinned"]; got != "holdMS,restSetMS" {
		t.Errorf("the plan keeps the pin %v", got)
	}
}

// numbers are what the steppers of the first exercise show.
func (p *phone) numbers(fields ...string) (all []float64) {
	p.t.Helper()
	for _, field := range fields {
		all = append(all, p.stepper(field + "/0")["value"].(float64))
	}
	return all
}

// TestPlanFollows: in a plan that was accepted the numbers that are not pinned follow a change
// of any one, so that the weaker side still ends within the band, and one touch brings all
// back. A client's own change moves nothing else.
func TestPlanFollows(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Ned A.", "massG", "70", "statureMM", "175")
	p.screen(doc)
	p.takeTest(doc, 40_000, 62_000)
	p.visit("/p/" + doc + "/plan")
	p.act("plan.accept")
	p.visit("/p/" + doc + "/plan")
	p.says("fit.in_band", "fit.below", "plan.lead_pins")
	fields := []string{"sets", "reps", "holdMS", "restRepMS", "restSetMS", "extraSets"}
	was := p.numbers(fields...)
	for _, change := range []struct {
		field    string
		to       float64
		isEnough bool // within the band as it is
	}{
		{"sets", was[0] + 1, false}, {"reps", was[1] + 3, false}, {"restRepMS", 1, true},
		{"restSetMS", 0, false}, {"extraSets", was[5] + 3, true}, {"holdMS", 15, false},
	} {
		p.do("item.set", object{"item": 0, "field": change.field, "value": change.to})
		p.says("said.dose", "fit.in_band", "plan.stays")
		p.saysNot("fit.outside")
		now := p.numbers(fields...)
		moved := 0
		for i, field := range fields {
			if field == change.field && now[i] != change.to {
				t.Errorf("%s set to %v is shown as %v", field, change.to, now[i])
			}
			if now[i] != was[i] {
				moved++
			}
		}
		if moved < 2 && !change.isEnough {
			t.Errorf("nothing followed %s: %v after %v", change.field, now, was)
		}
		p.act("item.undo")
		if got := p.numbers(fields...); !reflect.DeepEqual(got, was) {
			t.Errorf("after %s, undone: %v, want %v", change.field, got, was)
		}
		p.saysNot("plan.stays")
	}
	p.pin("holdMS/0")
	p.pin("reps/0")
	p.do("item.set", object{"item": 0, "field": "sets", "value": was[0] + 1})
	now := p.numbers(fields...)
	if now[1] != was[1] || now[2] != was[2] {
		t.Errorf("pinned numbers moved from %v to %v", was, now)
	}
	p.refused("item.set", object{"item": 0, "field": "extraSets", "value": 99}, "field")
	p.says("bounds.sets")

	client := p.client(doc)
	client.visit("/plan")
	client.do("item.set", object{"item": 1, "field": "loadWorksLeftG", "value": 5})
	client.saysNot("plan.follows", "said.dose")
	client.exchange()
	if refused := client.texts("state.attention"); len(refused) > 0 {
		t.Errorf("a client's change is refused: %v", refused)
	}
}

// TestCapacityAndLoadScreens show what each side can bear, and what the weeks add up to.
func TestCapacityAndLoadScreens(t *testing.T) {
	p := newHouse(t).owner()
	bare := p.addClient("Bo B.")
	p.visit("/p/" + bare + "/capacity")
	p.says("course.missing_mass")
	p.visit("/p/" + bare + "/load")
	p.says("load.empty")
	doc := p.planned("Ned A.")
	p.visit("/p/" + doc + "/edit")
	p.act("person.save", "name", "Ned A.", "massG", "70", "statureMM", "175")
	p.visit("/p/" + doc + "/capacity")
	p.says("capacity.side_left", "capacity.side_right", "capacity.hold", "capacity.carry",
		"capacity.past", "capacity.working_left", "loading.caution.own_statics")
	p.visit("/p/" + doc)
	p.beginWork()
	p.series()
	p.act("work.feel")
	p.act("work.finish", "effort", "4", "pain", "1")
	p.visit("/p/" + doc + "/load")
	p.says("load.total", "load.monotony", "load.note", "working.week.caution", "load.balance")
}
