package app_test

import (
	"strings"
	"testing"

	"evenhold/internal/sessions"
)

// TestPersonFieldRefused refuses each value that cannot be at its own field, keeps all that was
// typed, and stores nothing. The clock stands in 2026.
func TestPersonFieldRefused(t *testing.T) {
	p := newHouse(t).owner()
	before := p.digests()
	for _, tt := range []struct{ name, id, typed string }{
		{"negative mass", "massG", "-70"},
		{"mass of nobody", "massG", "900"},
		{"mass in letters", "massG", "seventy"},
		{"letter O for nought", "massG", "7O"},
		{"not a number", "massG", "NaN"},
		{"endless mass", "massG", "Inf"},
		{"mass past counting", "massG", "1e400"},
		{"two decimal points", "massG", "70.5.5"},
		{"negative stature", "statureMM", "-172"},
		{"stature in metres", "statureMM", "1.72"},
		{"stature in letters", "statureMM", "tall"},
		{"birth year ahead", "birthYear", "2027"},
		{"birth year long past", "birthYear", "1850"},
		{"birth year in letters", "birthYear", "ninety"},
		{"unknown sex", "sex", "robot"},
		{"unknown side", "dominant", "up"},
		{"no name", "name", "   "},
		{"name too long", "name", strings.Repeat("n", 121)},
		{"complaint too long", "complaint", strings.Repeat("ح", 121)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p.t = t
			p.visit("/")
			p.visit("/new")
			typed := object{"name": "Sol D.", "massG": "70", "complaint": "none"}
			typed[tt.id] = tt.typed
			p.refused("person.save", object{"values": typed}, "field")
			if p.error["field"] != tt.id {
				t.Errorf("the refusal is put at %v", p.error["field"])
			}
			for id, value := range typed {
				f := p.field(id)
				if f["value"] != value {
					t.Errorf("%s is now %v, typed was %v", id, f["value"], value)
				}
				if (f["error"] != nil) != (id == tt.id) {
					t.Errorf("%s has the error %v", id, f["error"])
				}
			}
		})
	}
	p.t = t
	same(t, "after the refusals", p.digests(), before)
}

// TestPersonFieldAccepted takes numbers as people write them.
func TestPersonFieldAccepted(t *testing.T) {
	p := newHouse(t).owner()
	for _, tt := range []struct{ name, typed, want string }{
		{"decimal point", "70.5", "70.5"},
		{"decimal comma", "70,5", "70.5"},
		{"Arabic-Indic figures", "٧٠٫٥", "70.5"},
		{"extended Arabic-Indic figures", "۷۰٫۵", "70.5"},
		{"spaces about it", " 70 ", "70"},
		{"nothing", "", ""},
		{"lightest", "20", "20"},
		{"heaviest", "300", "300"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p.t = t
			doc := p.addClient("Sol D.", "massG", tt.typed, "birthYear", "٢٠٠١")
			p.visit("/p/" + doc + "/edit")
			if got := p.field("massG")["value"]; got != tt.want {
				t.Errorf("%q is kept as %v kg, want %q", tt.typed, got, tt.want)
			}
			if got := p.field("birthYear")["value"]; got != "2001" {
				t.Errorf("the birth year is kept as %v", got)
			}
		})
	}
}

// TestPlanNumberRefused refuses each number of a plan that cannot be, at its stepper, in a draft
// and in the plan in force; the number before it stays.
func TestPlanNumberRefused(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Tam E.", "massG", "70")
	p.screen(doc)
	p.takeTest(doc, 41_300, 58_900)
	for _, do := range []string{"plan.set", "item.set"} {
		p.visit("/p/" + doc + "/plan")
		for _, tt := range []struct {
			name, field string
			item        int
			value       any
		}{
			{"a 900 kg carry", "loadWorksLeftG", 1, 900},
			{"a negative load", "loadWorksRightG", 1, -1},
			{"a load in letters", "loadWorksRightG", 1, "heavy"},
			{"a hold of an hour", "holdMS", 0, 3600},
			{"a negative hold", "holdMS", 0, "-3"},
			{"a thousand repetitions", "reps", 0, 1000},
			{"negative sets", "sets", 0, -1},
			{"a rest past counting", "restSetMS", 0, "1e300"},
			{"no value", "holdMS", 0, nil},
			{"a truth", "holdMS", 0, true},
			{"a list", "holdMS", 0, []any{1}},
		} {
			t.Run(do+" "+tt.name, func(t *testing.T) {
				p.t = t
				id := tt.field + "/" + string(rune('0'+tt.item))
				was := p.stepper(id)["value"]
				p.refused(do, object{"item": tt.item, "field": tt.field, "value": tt.value}, "field")
				if p.error["field"] != id {
					t.Errorf("the refusal is put at %v", p.error["field"])
				}
				if got := p.stepper(id); got["value"] != was || got["error"] == nil {
					t.Errorf("the stepper shows %v, was %v", got, was)
				}
			})
		}
		p.t = t
		p.refused(do, object{"item": 0, "field": "colour", "value": 3}, "field")
		p.refused(do, object{"item": -1, "field": "holdMS", "value": 3}, "unknown_record")
		if do == "plan.set" {
			p.act("plan.accept")
		}
	}
	p.visit("/p/" + doc)
	p.beginWork()
	p.toCarry()
	p.refused("work.set", object{"item": 0, "field": p.loadField(), "value": 900}, "field")
	if p.stepper(p.loadField() + "/0")["error"] == nil {
		t.Error("a 900 kg carry is not refused at its number")
	}
}

// TestTestArgumentsRefused refuses sides, variants and reasons that there are not.
func TestTestArgumentsRefused(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Una F.")
	p.visit("/p/" + doc + "/test")
	p.refused("test.prepare", object{"values": object{"step": "handstand", "first": "left"}}, "field")
	bent := object{"step": "bent_knee_hold", "first": "up"}
	p.refused("test.prepare", object{"values": bent}, "field")
	if p.error["field"] != "first" || p.field("first")["value"] != "up" {
		t.Errorf("an unknown side is not refused at its field: %v", p.error)
	}
	p.prepare(doc, "left")
	p.refused("test.start", object{"works": "up"}, "phase")
	p.act("test.start")
	p.wait(5000)
	p.act("test.stop")
	p.refused("test.because", object{"stop": "bored"}, "phase")
	p.wait(sessions.MaxHoldMS)
	p.act("test.resume")
	p.refused("test.stop", object{}, "phase") // longer than any hold: forgotten
	p.refused("test.because", object{"stop": 7}, "malformed")
	p.refused("go", object{"route": object{}}, "malformed")
	p.refused("test.jump", object{}, "unknown")
}
