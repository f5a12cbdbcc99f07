package app_test

import (
	"testing"

	"evenhold/internal/sessions"
)

// unweighed is a client with a plan whose carry has no weight: body mass is not noted.
func unweighed(t *testing.T) (coach *phone, doc string) {
	t.Helper()
	coach = newHouse(t).owner()
	doc = coach.addClient("Iva P.")
	coach.screen(doc)
	coach.takeTest(doc, 41_300, 58_900)
	coach.act("/plan")
	coach.says("dose.no_load", "rule.mass_missing") // before it is given out
	return coach, doc
}

// turns leads through what is due without doing it, and counts the carries and lifts.
func (p *phone) turns() (holds, byHand int) {
	p.t.Helper()
	p.visit("/")
	p.beginWork()
	for p.view["screen"] == "work" {
		if len(p.offers("work.enter")) > 0 {
			byHand++
		} else {
			holds++
		}
		p.act("work.skip")
	}
	p.do("work.finish", object{"values": object{"effort": "0", "pain": "0"}})
	return holds, byHand
}

// TestNoWeight_IsNotLed: a client is never led to a carry whose weight nobody named, and hears what
// to do about it; with a weight for one side that side is led.
func TestNoWeight_IsNotLed(t *testing.T) {
	coach, doc := unweighed(t)
	coach.act("plan.accept")
	coach.says("dose.no_load")
	p := coach.client(doc)
	p.visit("/")
	p.says("dose.no_load", "today.weights")
	if holds, byHand := p.turns(); holds == 0 || byHand != 0 {
		t.Errorf("%d holds and %d carries are led, want the holds alone", holds, byHand)
	}
	p.visit("/plan")
	p.do("item.set", object{"item": 1, "field": sessions.FieldLoadWorksLeftG, "value": 5})
	all, byHand := p.turns()
	if byHand == 0 {
		t.Error("a weight was set, and no carry is led")
	}
	p.visit("/plan")
	p.do("item.set", object{"item": 1, "field": sessions.FieldLoadWorksRightG, "value": 5})
	if holds, both := p.turns(); holds != all || both <= byHand {
		t.Errorf("%d carries with a weight for both sides, %d with one for one", both, byHand)
	}
}

// TestNoWeight_NothingElse: a plan of nothing but a carry without a weight offers no session.
func TestNoWeight_NothingElse(t *testing.T) {
	coach, doc := unweighed(t)
	coach.do("plan.remove", object{"item": 0})
	coach.act("plan.accept")
	p := coach.client(doc)
	p.visit("/")
	if len(p.offers("work.begin")) > 0 {
		t.Error("a session of nothing is offered")
	}
	p.refused("work.begin", object{}, "withheld")
}

// steps says what a number of the turn shows, with its unit, and where − and + lead; a step below
// the least leads nowhere.
func (p *phone) steps(id string, value float64, unit string, less, more float64) {
	p.t.Helper()
	s := p.stepper(id)
	if s["value"] != value || s["less"] != less || s["more"] != more ||
		s["unit"].(object)["k"] != unit {
		p.t.Errorf("%s shows %v %v with − to %v and + to %v, want %v %s, %v and %v", id, s["value"],
			s["unit"], s["less"], s["more"], value, unit, less, more)
	}
}

// step sends what − or + offers, as the page does.
func (p *phone) step(id, way string) {
	p.t.Helper()
	s := p.stepper(id)
	p.do(s["do"].(string), object{
		"item": s["args"].(object)["item"], "field": s["args"].(object)["field"], "value": s[way],
	})
}

// TestLogSteppers: by − and + alone a client says with what, how far, how long and how often, in
// kilograms, metres, seconds and repetitions; none of them goes down to nothing.
func TestLogSteppers(t *testing.T) {
	coach := newHouse(t).owner()
	doc := coach.planned("Rae C.")
	coach.beginWork()
	coach.do("work.feel", object{})
	coach.act("work.finish", "effort", "2", "pain", "0")
	coach.wait(dayMS)
	coach.takeTest(doc, 58_900, 61_300) // for long enough that a lift is suggested
	coach.act("/plan")
	coach.do("plan.set", object{"item": 1, "field": "loadWorksLeftG", "value": 7})
	coach.do("plan.set", object{"item": 1, "field": "loadWorksRightG", "value": 7})
	coach.act("plan.accept")
	p := coach.client(doc)
	p.visit("/")
	p.beginWork()
	p.toCarry()
	load := p.loadField() + "/0"
	p.steps(load, 7, "unit.kg", 6, 8)
	for range 9 {
		p.step(load, "less")
	}
	p.steps(load, 1, "unit.kg", 1, 2)
	p.step(load, "more")
	seconds := p.stepper("timeMS/0")["value"].(float64)
	p.steps("timeMS/0", seconds, "unit.s", seconds-5, seconds+5)
	for range 20 {
		p.step("timeMS/0", "less")
	}
	p.steps("timeMS/0", 5, "unit.s", 5, 10)
	p.step("timeMS/0", "more")
	for _, none := range []string{"0", "-1"} {
		p.send("work.set", object{"item": 0, "field": p.loadField(), "value": none})
		if p.error == nil || p.stepper(load)["error"] == nil || p.stepper(load)["value"] != 2.0 {
			t.Errorf("%s kg are taken: %v", none, p.stepper(load))
		}
	}
	p.act("work.enter")
	if got := p.texts("set.carry")[0]; got["kg"] != 2.0 || got["seconds"] != 10.0 {
		t.Errorf("2 kg for 10 s are logged as %v", got)
	}
	p.stepDistance(t)
	p.stepReps(t)
}

// stepDistance logs a carry that goes by the way.
func (p *phone) stepDistance(t *testing.T) {
	t.Helper()
	p.do("work.set", object{"item": 0, "field": "distanceMM", "value": 20})
	p.steps("distanceMM/0", 20, "unit.m", 15, 25)
	for range 9 {
		p.step("distanceMM/0", "less")
	}
	p.steps("distanceMM/0", 5, "unit.m", 5, 10)
	p.do("work.set", object{"item": 0, "field": "distanceMM", "value": "0"})
	p.steps("distanceMM/0", 1, "unit.m", 1, 6)
	p.step("distanceMM/0", "more")
	p.act("work.enter")
	if got := p.texts("set.carry_distance")[0]; got["metres"] != 6.0 {
		t.Errorf("6 m are logged as %v", got)
	}
}

// stepReps logs a lift, of which fewer were done than asked; the other side's asks what was
// planned.
func (p *phone) stepReps(t *testing.T) {
	t.Helper()
	for len(p.texts("plan.reps")) == 0 {
		p.act("work.skip")
	}
	asked := p.stepper("reps/0")["value"].(float64)
	p.steps("reps/0", asked, "unit.reps", asked-1, asked+1)
	p.step("reps/0", "less")
	p.step("reps/0", "less")
	p.act("work.enter")
	if got := p.texts("set.lift")[0]; got["reps"] != asked-2 {
		t.Errorf("%v of %v repetitions are logged as %v", asked-2, asked, got)
	}
	p.steps("reps/0", asked, "unit.reps", asked-1, asked+1)
	for range 40 {
		p.step("reps/0", "less")
	}
	p.steps("reps/0", 1, "unit.reps", 1, 2)
}
