package app_test

import (
	"testing"

	"evenhold/internal/sessions"
)

// client lets the phone of doc's client in by the coach's invitation.
func (p *phone) client(doc string) *phone {
	p.t.Helper()
	p.exchange()
	p.visit("/p/" + doc + "/invite")
	p.act("invite.make")
	return p.house.guest(p.view["code"].(string), "")
}

// pair is a coach and the client of a plan, all sent, the client without a network.
func pair(t *testing.T) (coach, client *phone, doc string, online func()) {
	t.Helper()
	coach = newHouse(t).owner()
	doc = coach.planned("Rae C.")
	client = coach.client(doc)
	return coach, client, doc, client.offline()
}

// beginWork opens a session and says that nothing hurts.
func (p *phone) beginWork() {
	p.t.Helper()
	p.act("work.begin")
	if len(p.offers("work.before")) > 0 {
		p.act("work.before", "painBefore", "0", "painMorning", "0")
	}
}

// lengthMS is how long the series on the screen lasts.
func (p *phone) lengthMS() int64 {
	p.t.Helper()
	all := p.view["intervals"].([]any)
	return int64(all[len(all)-1].(object)["toMS"].(float64))
}

// series does the set of holds that is due, to its end.
func (p *phone) series() {
	p.t.Helper()
	p.act("work.start")
	p.shows("work", "series")
	p.wait(p.lengthMS())
	p.tap(p.view["atEnd"].(object))
}

// toCarry leaves out what comes before the first carry.
func (p *phone) toCarry() {
	p.t.Helper()
	for len(p.offers("work.enter")) == 0 {
		p.act("work.skip")
	}
}

// TestClientSession leads through holds and carries without a network; the coach sees each set
// once.
func TestClientSession(t *testing.T) {
	coach, p, doc, online := pair(t)
	p.visit("/")
	p.says("today.finding", "today.stop_rule")
	p.beginWork()
	p.shows("work", "ready")
	p.leadHolds(t)
	p.leadCarries(t)
	p.sayHow(t)

	online()
	p.exchange()
	p.exchange()
	coach.wait(p.wallMS - coach.wallMS)
	coach.exchange()
	coach.visit("/p/" + doc)
	if got := coach.texts("people.last"); len(got) != 1 || got[0]["n"] != 4.0 {
		t.Errorf("the coach is told of %v sets, want 4", got)
	}
	sets := 0.0
	for _, line := range append(coach.texts("sum.hold"), coach.texts("sum.hand")...) {
		sets += line["n"].(float64)
	}
	if sets != 4 {
		t.Errorf("the log's lines count %v sets, want 4", sets)
	}
	all := coach.records(doc, sessions.KindSet)
	if len(all) != 4 || all[1]["stop"] != sessions.StopGaveUp {
		t.Errorf("the server holds %v", all)
	}
	if got, want := p.digests()[doc], coach.digests()[doc]; got != want {
		t.Errorf("the two phones hold %s and %s", got, want)
	}
}

// leadHolds does a set of holds to its end, and one that is stopped early after a reload.
func (p *phone) leadHolds(t *testing.T) {
	side := p.view["side"]
	p.act("work.start")
	if p.view["busy"] != true || len(p.view["cues"].([]any)) == 0 {
		t.Errorf("a series runs without cues or may be reloaded: %s", p.text())
	}
	length, reps := p.lengthMS(), 0.0
	for _, stretch := range p.view["intervals"].([]any) {
		if stretch.(object)["kind"] == "hold" {
			reps++
		}
	}
	p.wait(length - 1000)
	p.refused("work.end", object{}, "phase")
	p.shows("work", "series")
	p.wait(1000)
	p.tap(p.view["atEnd"].(object))
	p.shows("work", "rest")
	p.says("set.hold", "action.undo")
	if p.view["side"] == side {
		t.Errorf("both sets work the %v side", side)
	}
	logged := p.texts("set.hold")[0]
	if sideWord(logged["works"]) != side || logged["held"] != 10*reps || logged["reps"] != reps {
		t.Errorf("holds of 10 s on the %v side are logged as %v", side, logged)
	}

	p.act("work.start") // the rest is cut short
	p.reload()
	p.visit("/")
	p.act("work.begin") // goes on where it was
	p.shows("work", "series")
	p.wait(20_000) // 5 s to get ready, 10 s held, 5 s rest
	for _, stop := range p.offers("work.stop") {
		if stop["args"].(object)["stop"] == sessions.StopGaveUp {
			p.tap(stop)
			break
		}
	}
	if got := p.texts("set.hold")[0]; got["held"] != 10.0 || got["reps"] != 1.0 {
		t.Errorf("stopped after one hold of 10 s, logged as %v", got)
	}
}

// leadCarries logs a carry as shown and times another.
func (p *phone) leadCarries(t *testing.T) {
	p.toCarry()
	p.do("work.set", object{"item": 0, "field": p.loadField(), "value": "6.5"})
	p.act("work.enter") // two taps a set: the load once, then this
	if got := p.texts("set.carry")[0]; got["kg"] != 6.5 {
		t.Errorf("a carry of 6.5 kg is logged as %v", got)
	}
	p.act("work.start")
	p.shows("work", "carry")
	p.wait(21_500)
	p.act("work.end")
	if got := p.texts("set.carry")[0]; got["seconds"] != 21.0 {
		t.Errorf("a carry of 21.5 s is logged as %v", got)
	}
}

// sayHow closes a session; both answers are asked for.
func (p *phone) sayHow(t *testing.T) {
	p.act("work.feel")
	p.refused("work.finish", object{"values": object{"effort": "4"}}, "field")
	if p.error["field"] != "pain" || p.field("effort")["value"] != "4" {
		t.Errorf("the missing answer is not asked for: %s", p.text())
	}
	p.refused("work.finish", object{"values": object{"effort": "11", "pain": "1"}}, "field")
	p.act("work.finish", "effort", "4", "pain", "1")
	p.says("said.session", "today.done")
	p.refused("work.finish", object{"values": object{"effort": "4", "pain": "1"}}, "phase")
	p.visit("/log")
	p.says("set.hold", "set.carry", "log.felt")
	p.saysNot("log.open")
}

// loadField is the load stepper's field on the screen of a carry.
func (p *phone) loadField() string {
	if p.view["side"] == "left" {
		return sessions.FieldLoadWorksLeftG
	}
	return sessions.FieldLoadWorksRightG
}

// TestLogSumsLikeWithLike does not say one weight of sets that had two.
func TestLogSumsLikeWithLike(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Rae C.")
	p.beginWork()
	p.toCarry()
	field := p.loadField()
	for _, kg := range []float64{8, 8, 9} { // the three sets of one side
		for p.loadField() != field {
			p.act("work.skip")
		}
		p.do("work.set", object{"item": 0, "field": field, "value": kg})
		p.act("work.enter")
	}
	p.visit("/p/" + doc)
	sets := map[any]any{}
	for _, line := range p.texts("sum.hand") {
		sets[line["kg"]] = line["n"]
	}
	if len(sets) != 2 || sets[8.0] != 2.0 || sets[9.0] != 1.0 {
		t.Errorf("two sets of 8 kg and one of 9 kg are summed as %v", sets)
	}
}

// TestPainStopsSet logs what was held and asks the coach to look.
func TestPainStopsSet(t *testing.T) {
	coach, p, doc, online := pair(t)
	p.beginWork()
	p.act("work.start")
	p.wait(12_000)
	for _, stop := range p.offers("work.stop") {
		if stop["kind"] == "care" {
			p.tap(stop)
			break
		}
	}
	if got := p.texts("set.hold")[0]; got["held"] != 7.0 || got["reps"] != 0.0 {
		t.Errorf("7 s of the first hold are logged as %v", got)
	}
	p.act("work.feel")
	p.act("work.finish", "effort", "٣", "pain", "7", "painPlace", "low on the left")
	p.says("reason.pain_high", "care.client_pain")
	online()
	p.exchange()
	coach.exchange()
	coach.visit("/")
	coach.says("reason.pain_high", "reason.pain_word")
	coach.visit("/p/" + doc)
	coach.says("care.pain_ask", "log.pain_place")
	all := coach.records(doc, sessions.KindSet)
	if len(all) != 1 || all[0]["stop"] != sessions.StopPain {
		t.Errorf("the server holds %v", all)
	}
}

// turn is the number of the turn that is due.
func (p *phone) turn() any {
	return p.view["head"].(object)["where"].(object)["a"].(object)["n"]
}

// TestUndoBringsTurnBack takes a logged set back and leads to it again, also past one left out.
func TestUndoBringsTurnBack(t *testing.T) {
	_, p, _, _ := pair(t)
	p.beginWork()
	first := p.turn()
	side := p.view["side"]
	p.series()
	undo := p.view["said"].(object)["undo"].(object)
	p.tap(undo)
	p.shows("work", "ready")
	if p.view["side"] != side || p.turn() != first {
		t.Errorf("the set is not due again: %s", p.text())
	}
	p.visit("/log")
	p.saysNot("set.hold")

	p.visit("/work")
	p.series()
	undo = p.view["said"].(object)["undo"].(object)
	p.act("work.skip")
	p.tap(undo)
	if got := p.turn(); got != first {
		t.Errorf("turn %v is due after the undo, want %v", got, first)
	}
	p.series()
	p.visit("/log")
	if n := len(p.texts("set.hold")); n != 1 {
		t.Errorf("%d sets count, want one", n)
	}
}

// TestSeriesEndedWhileAway asks about a series whose end nobody saw.
func TestSeriesEndedWhileAway(t *testing.T) {
	_, p, _, _ := pair(t)
	p.beginWork()
	p.act("work.start")
	p.wait(3_600_000)
	p.reload()
	p.visit("/work")
	p.shows("work", "unsure")
	p.act("work.skip")
	p.visit("/log")
	p.saysNot("set.hold")
}

// TestConflictKeepsBoth has two phones change one number of a plan without knowing of each other.
func TestConflictKeepsBoth(t *testing.T) {
	coach, p, doc, online := pair(t)
	p.visit("/plan")
	p.do("item.set", object{"item": 1, "field": "loadWorksLeftG", "value": 9})
	coach.visit("/p/" + doc + "/plan")
	coach.wait(1000)
	coach.do("item.set", object{"item": 1, "field": "loadWorksLeftG", "value": 11})
	coach.exchange()
	p.wait(2000)
	online()
	p.exchange()
	p.exchange()
	coach.exchange()
	if got, want := p.digests()[doc], coach.digests()[doc]; got != want {
		t.Errorf("the two phones hold %s and %s", got, want)
	}
	p.visit("/")
	p.says("today.also")
	coach.visit("/")
	coach.says("reason.conflict")
	coach.visit("/p/" + doc)
	coach.says("conflict.section", "conflict.shown", "conflict.also")
	values := map[any]bool{}
	for _, key := range []string{"conflict.shown", "conflict.also"} {
		value := coach.texts(key)[0]["value"].(object)["a"].(object)["value"]
		values[value] = true
	}
	if !values[9.0] || !values[11.0] {
		t.Errorf("9 kg and 11 kg are shown as %v", values)
	}
	keep := coach.offers("conflict.keep")
	if len(keep) != 2 {
		t.Fatalf("%d values can be kept, want both", len(keep))
	}
	kept := keep[1]["label"].(object)["a"].(object)["value"].(object)["a"].(object)["value"]
	coach.tap(keep[1])
	coach.saysNot("conflict.section")
	coach.refused("conflict.keep", keep[0]["args"], "settled") // on a screen that is out of date
	coach.exchange()
	p.exchange()
	coach.visit("/p/" + doc + "/plan")
	if got := coach.stepper("loadWorksLeftG/1")["value"]; got != kept {
		t.Errorf("%v kg is in force, want the kept %v", got, kept)
	}
	p.visit("/plan")
	if got := p.stepper("loadWorksLeftG/1")["value"]; got != kept {
		t.Errorf("the client sees %v kg, want the kept %v", got, kept)
	}
}

// TestClientMayNot keeps a client from what only a coach may change.
func TestClientMayNot(t *testing.T) {
	_, p, _, _ := pair(t)
	before := p.digests()
	p.refused("item.set", object{"item": 0, "field": "holdMS", "value": 5}, "role")
	p.refused("plan.decline", object{"values": object{"reason": "no"}}, "role")
	p.refused("person.save", object{"values": object{"name": "Somebody E."}}, "role")
	same(t, "after the refusals", p.digests(), before)
}
