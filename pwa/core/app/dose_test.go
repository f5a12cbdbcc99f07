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
	p.says("plan.unpin", "said.dose")
	p.act("plan.undo")
	p.saysNot("plan.unpin")
	if !reflect.DeepEqual(p.course(), course) || p.stepper("sets/0")["value"] != sets {
		t.Errorf("undo leaves %s", p.text())
	}
	p.do("plan.set", object{"item": 0, "field": "reps", "value": 8})
	p.reload()
	p.visit("/p/" + doc + "/plan")
	p.act("plan.unpin")
	if !reflect.DeepEqual(p.course(), course) {
		t.Errorf("let go again: %s", p.text())
	}
	p.do("plan.set", object{"item": 0, "field": "holdMS", "value": 7})
	p.act("plan.accept")
	p.visit("/p/" + doc + "/plan")
	p.says("course.title")
	p.exchange()
	if got := p.records(doc, "item")[0]["pinned"]; got != "holdMS" {
		t.Errorf("the plan keeps the pin %v", got)
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
