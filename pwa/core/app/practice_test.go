package app_test

import (
	"testing"

	"evenhold/internal/sessions"
)

// list adds weights in kilograms, as typed, to those that the practice has at hand.
func (p *phone) list(kg ...string) {
	p.t.Helper()
	p.visit("/practice/weights")
	for _, typed := range kg {
		p.act("weights.add", "what", "kettlebell", "weightG", typed)
	}
}

// loadsKG are the weights of the plan on the screen.
func (p *phone) loadsKG() (all []float64) {
	p.t.Helper()
	for _, item := range p.view["items"].([]any) {
		for _, s := range item.(object)["steppers"].([]any) {
			if s := s.(object); s["side"] != nil {
				all = append(all, s["value"].(float64))
			}
		}
	}
	if len(all) == 0 {
		p.t.Fatal("the plan has no weight")
	}
	return all
}

// TestWeights: a person of 70 kg may begin a carry with 7 kg (10 % of body mass) and is
// held to 14 kg (20 %), ours. Of 6.5, 12 and 40 kg only the first two are ever suggested,
// of 40 kg alone none, and a weight taken off the list is no longer.
func TestWeights(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Iva P.", "massG", "70", "statureMM", "172")
	p.screen(doc)
	p.takeTest(doc, 41_300, 58_900)
	p.list("40")
	p.visit("/p/" + doc + "/plan")
	p.says("fit.too_heavy", "dose.no_load")
	p.saysNot("dose.carry_time", "dose.carry_distance", "dose.lift")
	for _, kg := range p.loadsKG() {
		if kg != 0 {
			t.Errorf("%v kg are suggested where 40 kg is the lightest at hand", kg)
		}
	}
	p.visit("/p/" + doc + "/capacity")
	p.says("capacity.carry_none", "loading.working.carry", "loading.step.load_wanted",
		"loading.caution.grip")
	p.list("6,5", "12")
	p.visit("/p/" + doc + "/plan")
	p.saysNot("fit.too_heavy", "dose.no_load")
	for _, kg := range p.loadsKG() {
		if kg != 6.5 && kg != 12 {
			t.Errorf("%v kg are suggested, and not at hand", kg)
		}
	}
	p.list()
	for _, remove := range p.offers("void")[:2] {
		p.tap(remove)
	}
	p.visit("/p/" + doc + "/plan")
	p.says("fit.too_heavy")
}

// TestWeights_Steppers: − and + go through the weights that are listed, from one that was typed
// too, and end at both ends; without a list they go by whole kilograms.
func TestWeights_Steppers(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Iva P.", "massG", "70", "statureMM", "172")
	p.screen(doc)
	p.takeTest(doc, 41_300, 58_900)
	const place, field = 1, "loadWorksLeftG"
	ways := func(value any, less, more float64) {
		t.Helper()
		p.visit("/p/" + doc + "/plan")
		p.do("plan.set", object{"item": place, "field": field, "value": value})
		s := p.stepper(field + "/1")
		if s["less"] != less || s["more"] != more {
			t.Errorf("from %v kg to %v and %v, want %v and %v", s["value"], s["less"], s["more"],
				less, more)
		}
	}
	ways("7", 6, 8)
	p.list("12", "6,5", "9")
	ways("9", 6.5, 12)
	ways("7,25", 6.5, 9)
	ways("6,5", 6.5, 9)
	ways("12", 9, 12)
	ways("13", 12, 13)
}

// TestWeights_Refused: what is no weight is refused with the reason, and stays typed.
func TestWeights_Refused(t *testing.T) {
	p := newHouse(t).owner()
	p.visit("/practice/weights")
	for _, typed := range []string{"", "0.4", "151", "heavy"} {
		p.refused("weights.add", object{
			"values": object{"what": "bucket", "weightG": typed},
		}, "field")
		if got := p.field("weightG")["value"]; got != typed {
			t.Errorf("%q was typed, %q is kept", typed, got)
		}
	}
	p.refused("weights.add", object{
		"values": object{"what": "anvil", "weightG": "12"},
	}, "field")
}

// TestWeights_Roles: a coach lists weights and another phone has them; an assistant sees
// them and cannot change them.
func TestWeights_Roles(t *testing.T) {
	owner := newHouse(t).owner()
	coach := owner.colleague(sessions.Coach, "Kim Example")
	coach.list("8")
	coach.exchange()
	owner.exchange()
	owner.list()
	owner.says("weights.row")
	assistant := owner.colleague(sessions.Assistant, "Sam Example")
	assistant.list()
	assistant.says("weights.row", "practice.read_only")
	assistant.refused("weights.add", object{
		"values": object{"what": "bucket", "weightG": "8"},
	}, "role")
}
