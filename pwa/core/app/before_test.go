package app_test

import (
	"fmt"
	"testing"

	"evenhold/internal/sessions"
)

const dayMS = 86_400_000

// TestPainBefore asks for pain before the first set, and after an earlier day's session
// for the morning that followed it; the coach's phone reads both.
func TestPainBefore(t *testing.T) {
	coach, p, doc, online := pair(t)
	p.act("work.begin")
	p.shows("form", "")
	p.saysNot("before.morning")
	p.refused("work.start", object{}, "phase")
	p.refused("work.before", object{"values": object{}}, "field")
	p.refused("work.before", object{"values": object{"painBefore": "11"}}, "field")
	p.act("work.before", "painBefore", "2")
	p.shows("work", "ready")
	p.act("work.feel")
	p.act("work.finish", "effort", "4", "pain", "1")

	p.wait(dayMS)
	p.visit("/")
	p.act("work.begin")
	p.says("before.now", "before.morning")
	p.act("work.before", "painBefore", "1", "painMorning", "4")
	p.shows("work", "ready")
	online()
	p.exchange()
	coach.exchange()
	all := coach.records(doc, sessions.KindSession)
	if len(all) != 2 || fmt.Sprint(all[0]["painBefore"], all[1]["painMorning"]) != "2 4" {
		t.Errorf("the server holds %v", all)
	}
}

// TestPainBeforeStops: above 5 of 10 no set is offered, and the answer is kept; only a
// coach who is there may begin all the same.
func TestPainBeforeStops(t *testing.T) {
	coach, p, doc, online := pair(t)
	p.act("work.begin")
	p.act("work.before", "painBefore", "6")
	p.says("before.stop", "before.stop_lead")
	p.refused("work.start", object{}, "phase")
	p.refused("work.before", object{}, "role")
	p.act("work.leave")
	p.says("said.left", "reason.pain_high")
	p.saysNot("today.done")
	online()
	p.exchange()
	coach.exchange()
	coach.visit("/")
	coach.says("reason.pain_high")
	coach.visit("/p/" + doc)
	coach.act("work.begin")
	coach.act("work.before", "painBefore", "6")
	coach.act("work.before")
	coach.shows("work", "ready")
}

// TestNotBegun leaves no session behind when nothing was said.
func TestNotBegun(t *testing.T) {
	_, p, _, _ := pair(t)
	p.act("work.begin")
	p.act("work.leave")
	p.says("said.not_begun")
	p.visit("/log")
	p.says("person.log_empty")
}
