package app_test

import (
	"math"
	"testing"

	"evenhold/internal/sessions"
)

// addClient adds a client and shows their page; it returns the record's name.
func (p *phone) addClient(name string, values ...string) string {
	p.t.Helper()
	p.visit("/new")
	p.act("person.save", append([]string{"name", name}, values...)...)
	return docOf(p.t, p.route)
}

// screen answers the safety questions, yes to those named and no to the others.
func (p *phone) screen(doc string, yes ...string) {
	p.t.Helper()
	p.visit("/p/" + doc + "/flags")
	var values []string
	for _, q := range sessions.Questions() {
		values = append(values, q.ID, "no")
	}
	for _, id := range yes {
		values = append(values, id, "yes") // the later one counts
	}
	p.act("flags.save", values...)
}

// prepare opens the timing screen.
func (p *phone) prepare(doc, first string) {
	p.t.Helper()
	p.visit("/p/" + doc + "/test")
	p.shows("test", "setup")
	p.act("test.prepare", "step", "straight_leg_hold", "first", first, "stand", "behind", "told", "no")
	p.shows("test", "timing")
}

// hold times a hold of the side that is due and says why it stopped.
func (p *phone) hold(ms int64, stop string) {
	p.t.Helper()
	p.act("test.start")
	p.wait(ms)
	p.act("test.stop")
	p.because(stop)
}

func (p *phone) because(stop string) {
	p.t.Helper()
	for _, chip := range p.offers("test.because") {
		if chip["args"].(object)["stop"] == stop {
			p.tap(chip)
			return
		}
	}
	p.t.Fatalf("the reason %q is not offered", stop)
}

// rest waits for the whole rest between the sides; the page counts it down by itself.
func (p *phone) rest() { p.wait(sessions.RestBetweenSidesMS) }

// takeTest holds both sides, left first, with the whole rest between.
func (p *phone) takeTest(doc string, leftMS, rightMS int64) {
	p.t.Helper()
	p.prepare(doc, "left")
	p.hold(leftMS, sessions.StopGaveUp)
	p.rest()
	p.hold(rightMS, sessions.StopPosition)
	p.shows("result", "")
}

// half is the part of the timing screen where side works.
func (p *phone) half(side string) object {
	p.t.Helper()
	for _, half := range p.view["halves"].([]any) {
		if half := half.(object); half["side"] == side {
			return half
		}
	}
	p.t.Fatalf("no half for %s", side)
	return nil
}

// planned is a client with a screening, a test and an accepted plan.
func (p *phone) planned(name string) (doc string) {
	p.t.Helper()
	doc = p.addClient(name, "massG", "70", "statureMM", "172")
	p.screen(doc)
	p.takeTest(doc, 41_300, 58_900)
	p.act("/plan")
	p.act("plan.accept")
	return doc
}

// TestOwnerWithoutNetwork adds and screens a client with the network gone: nothing waits for it.
func TestOwnerWithoutNetwork(t *testing.T) {
	p := newHouse(t).owner()
	p.says("people.none")
	online := p.offline()
	doc := p.addClient("Dana Q.", "massG", "70,5", "statureMM", "١٧٢", "sex", "female",
		"dominant", "right", "complaint", "stiff after sitting")
	if p.view["head"].(object)["name"] != "Dana Q." {
		t.Errorf("the page is headed %v", p.view["head"])
	}
	p.says("state.saved", "reason.no_screen")
	p.visit("/p/" + doc + "/edit")
	for id, want := range map[string]string{"massG": "70.5", "statureMM": "172", "sex": "female"} {
		if got := p.field(id)["value"]; got != want {
			t.Errorf("%s is kept as %v, want %s", id, got, want)
		}
	}
	p.screen(doc)
	p.saysNot("care.flag_ask", "reason.no_screen")
	p.visit("/")
	p.says("reason.no_test")
	before := p.digests()
	p.reload()
	p.visit("/p/" + doc)
	same(t, "after a reload", p.digests(), before)
	online()
	p.exchange()
	p.visit("/sync")
	p.says("state.sent")
}

// TestFlagBlocksPlanAndSession holds prescribing back until a clinician's look is noted.
func TestFlagBlocksPlanAndSession(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Edda R.")
	p.screen(doc, "bladder", "fever")
	p.says("care.flag_title", "flag.bladder.short", "flag.fever.short", "care.flag_now",
		"care.flag_ask", "care.flag_blocks")
	if len(p.offers("work.begin")) > 0 || len(p.offers("/test")) > 0 || len(p.offers("/plan")) > 0 {
		t.Errorf("an open flag still offers work: %s", p.text())
	}
	p.refused("work.begin", object{}, "withheld")
	p.refused("plan.accept", object{}, "withheld")
	p.visit("/p/" + doc + "/plan")
	p.says("care.flag_ask")
	if len(p.offers("plan.accept")) > 0 {
		t.Error("an open flag still offers a plan")
	}

	p.visit("/p/" + doc)
	p.act("/clear")
	p.refused("flags.clear", object{"values": object{"note": "looked at"}}, "field")
	if got := p.field("note")["value"]; got != "looked at" {
		t.Errorf("the note typed before the refusal is now %v", got)
	}
	p.says("error.clear_by")
	p.refused("flags.clear", object{"values": object{"by": "K. Example, physiotherapist"}}, "field")
	p.says("error.clear_note")
	p.act("flags.clear", "by", "K. Example, physiotherapist", "note", "no cause for concern")
	p.saysNot("care.flag_title")
	p.beginWork()
	p.shows("work", "ready")
}

// TestFlagWithholdsFirstPlan shows no suggestion while an answer is open.
func TestFlagWithholdsFirstPlan(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Ines S.", "massG", "64")
	p.takeTest(doc, 30_000, 31_000)
	p.screen(doc, "night_pain")
	p.saysNot("care.flag_now") // can wait for the next visit
	p.visit("/p/" + doc + "/plan")
	p.says("plan.withheld", "care.flag_ask")
	p.refused("plan.accept", object{}, "withheld")
	p.refused("work.begin", object{}, "no_plan")
}

// TestUnansweredQuestion refuses a screening with a gap and keeps the answers given.
func TestUnansweredQuestion(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Ugo T.")
	p.visit("/p/" + doc + "/flags")
	p.refused("flags.save", object{"values": object{"saddle": "no", "fever": "yes"}}, "field")
	if p.error["field"] != "bladder" {
		t.Errorf("the refusal names %v, want the first question without an answer", p.error["field"])
	}
	if p.field("fever")["value"] != "yes" || p.field("bladder")["error"] == nil {
		t.Errorf("answers are not kept: %s", p.text())
	}
	p.visit("/p/" + doc)
	p.says("reason.no_screen")
}

// field is one field of the form on the screen.
func (p *phone) field(id string) (found object) {
	p.t.Helper()
	each(p.view, func(o object) {
		if o["id"] == id && o["kind"] != nil {
			found = o
		}
	})
	if found == nil {
		p.t.Fatalf("%s has no field %q: %s", p.route, id, p.text())
	}
	return found
}

func same(t *testing.T, when string, got, want map[string]string) {
	t.Helper()
	if len(want) == 0 {
		t.Errorf("%s: there is nothing to compare", when)
	}
	for doc, digest := range want {
		if got[doc] != digest {
			t.Errorf("%s: %s has digest %q, want %q", when, doc, got[doc], digest)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%s: %d documents, want %d", when, len(got), len(want))
	}
}

// TestHoldGoesOnThroughReload kills the page within a hold: its length comes from the wall clock
// and says so.
func TestHoldGoesOnThroughReload(t *testing.T) {
	p := newHouse(t).owner()
	p.offline()
	doc := p.addClient("Jo U.")
	p.prepare(doc, "right")
	if p.half("right")["state"] != "next" || p.half("left")["state"] != "waiting" {
		t.Fatalf("right is not the one to start: %s", p.text())
	}
	p.refused("test.start", object{"works": "left"}, "phase")
	p.act("test.start")
	if p.view["busy"] != true {
		t.Error("a running hold does not keep the page from reloading")
	}
	p.wait(20_000)
	p.visit("/")
	if label := p.view["running"].(object)["label"].(object); label["k"] != "running.hold" {
		t.Errorf("home does not lead back to the hold: %v", p.view["running"])
	}
	since := p.wallMS - 20_000
	p.reload()
	p.wait(14_999)
	p.tap(p.view["running"].(object))
	if got := p.half("right")["since"].(object)["wallMS"]; got != float64(since) {
		t.Errorf("the hold runs since %v, want %d", got, since)
	}
	p.act("test.stop")
	half := p.half("right")
	if half["heldS"] != 34.0 || half["result"].(object)["k"] != "test.stopped_by_wall" {
		t.Errorf("34.999 s over a reload are shown as %v", half)
	}
	p.reload()
	p.visit("/p/" + doc + "/test")
	p.because(sessions.StopPosition)
	if result := p.half("right")["result"].(object); result["k"] != "stop.by_wall" {
		t.Errorf("the trial does not say which clock told: %v", result)
	}
}

// TestClockSetBackDuringHold refuses a length that cannot be known.
func TestClockSetBackDuringHold(t *testing.T) {
	p := newHouse(t).owner()
	p.offline()
	doc := p.addClient("Kai V.")
	p.prepare(doc, "left")
	p.act("test.start")
	p.wallMS -= 3_600_000
	p.reload()
	p.visit("/p/" + doc + "/test")
	p.refused("test.stop", object{}, "phase")
	p.says("test.too_long")
	p.act("test.discard")
	if p.half("left")["state"] != "next" {
		t.Errorf("the side is not due again: %s", p.text())
	}
}

// TestTesterError holds the same side again and does not count the first.
func TestTesterError(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Lena W.")
	p.prepare(doc, "left")
	p.act("test.start")
	p.wait(300)
	p.act("test.stop") // a wet screen's second touch
	p.wait(9_700)
	p.act("test.stop")
	p.act("test.resume") // the wrong thumb
	p.wait(5_000)
	p.act("test.stop")
	if got := p.half("left")["heldS"]; got != 15.0 {
		t.Errorf("a hold that was taken up again shows %v s, want 15", got)
	}
	p.because(sessions.StopTesterError)
	if p.half("left")["state"] != "next" || p.half("left")["heldS"] != nil {
		t.Errorf("a tester error counts: %s", p.text())
	}
	p.hold(33_000, sessions.StopGaveUp)
	if p.half("left")["heldS"] != 33.0 {
		t.Errorf("the second try shows %v", p.half("left"))
	}
}

// TestShortRestNeedsNote keeps the five minutes unless a note says why not.
func TestShortRestNeedsNote(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Mo X.")
	p.prepare(doc, "left")
	p.hold(40_000, sessions.StopGaveUp)
	p.says("test.resting")
	foot := p.view["foot"].(object)
	if foot["restS"] != 300.0 {
		t.Errorf("the rest lasts %v s, want 5 minutes", foot["restS"])
	}
	p.wait(100_000)
	p.refused("test.start", object{"works": "right"}, "phase")
	p.refused("test.rest", object{"values": object{"note": " "}}, "field")
	p.says("error.rest_note")
	p.act("test.rest", "note", "next athlete waits")
	p.hold(38_000, sessions.StopPosition)
	p.says("result.rest_short")
	if got := p.texts("plain"); len(got) != 1 || got[0]["text"] != "next athlete waits" {
		t.Errorf("the note reads %v", got)
	}
}

// TestResult shows both bars from the plumb line, with both words a side.
func TestResult(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Nia Y.", "sex", "female")
	p.takeTest(doc, 41_900, 60_000)
	left, right := p.view["left"].(object), p.view["right"].(object)
	if left["heldS"] != 41.0 || right["heldS"] != 60.0 {
		t.Errorf("41.9 s and 60 s are shown as %v and %v", left["heldS"], right["heldS"])
	}
	if got := left["bar"].(float64) / right["bar"].(float64); math.Abs(got-41.9/60) > 1e-9 {
		t.Errorf("the bars stand as %v, want as 41.9 to 60", got)
	}
	for name, side := range map[string]object{"left": left, "right": right} {
		notes := side["notes"].([]any)
		if len(notes) != 2 {
			t.Fatalf("%s has %v", name, notes)
		}
		down, on := sideOf(notes[0])
		works, at := sideOf(notes[1])
		if down != "side.elbow_down" || on != name || works != "side.works" || at != name {
			t.Errorf("%s says %v", name, notes)
		}
		if low := side["low"].(float64); low >= side["bar"].(float64) || low <= 0 {
			t.Errorf("%s: the span %v does not hold the bar", name, side)
		}
	}
	p.says("verdict.not_risk", "result.first_time", "result.counts")

	// A hold that the arm ended is a lower bound, and has no span.
	p.wait(86_400_000)
	p.prepare(doc, "left")
	p.hold(50_000, sessions.StopArmShoulder)
	p.rest()
	p.hold(61_000, sessions.StopPain)
	p.says("result.since_left", "result.at_least", "care.test_pain", "care.pain_ask")
	for _, name := range []string{"left", "right"} {
		if side := p.view[name].(object); side["atLeast"] != true || side["low"] != nil {
			t.Errorf("%s claims more than a lower bound: %v", name, side)
		}
	}
}

// TestPlanChangedAndAccepted changes a suggestion, then the plan in force.
func TestPlanChangedAndAccepted(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Oda Z.", "massG", "70", "statureMM", "172")
	p.screen(doc)
	p.takeTest(doc, 41_300, 58_900)
	p.act("/plan")
	items := p.view["items"].([]any)
	if len(items) < 2 || len(items) > 3 {
		t.Fatalf("%d steps are suggested, want two or three", len(items))
	}
	hold := p.stepper("holdMS/0")
	p.do("plan.set", object{"item": 0, "field": "holdMS", "value": hold["less"]})
	p.reload() // a draft outlives the page
	p.visit("/p/" + doc + "/plan")
	if got := p.stepper("holdMS/0")["value"]; got != hold["less"] {
		t.Errorf("after one step less the hold is %v, want %v", got, hold["less"])
	}
	p.do("plan.set", object{"item": 1, "field": "loadWorksLeftG", "value": "7,5"})
	if got := p.stepper("loadWorksLeftG/1"); got["value"] != 7.5 || got["side"] != "left" {
		t.Errorf("7,5 kg typed for the left side are shown as %v", got)
	}
	p.act("plan.accept", "reason", "shoulder was tired")
	p.says("said.plan", "person.plan")
	p.send("plan.accept", object{}) // the same thumb once more
	p.exchange()
	decided := p.records(doc, sessions.KindDecision)
	if len(decided) != 1 || decided[0]["state"] != "changed" ||
		decided[0]["reason"] != "shoulder was tired" {
		t.Errorf("the decision is kept as %v", decided)
	}
	if plans := p.records(doc, sessions.KindPlan); len(plans) != 1 {
		t.Errorf("%d plans are kept, want one", len(plans))
	}

	p.visit("/p/" + doc + "/plan")
	p.says("plan.finding_now")
	p.do("item.set", object{"item": 1, "field": "loadWorksRightG", "value": "٨٫٥"})
	if got := p.stepper("loadWorksRightG/1")["value"]; got != 8.5 {
		t.Errorf("8.5 kg in Arabic-Indic figures are shown as %v", got)
	}
	p.refused("item.set", object{"item": 9, "field": "holdMS", "value": 3}, "unknown_record")
}

// TestPlanDeclined keeps why, and asks for it.
func TestPlanDeclined(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Pia A.", "massG", "70")
	p.screen(doc)
	p.takeTest(doc, 41_300, 58_900)
	p.act("/plan")
	p.refused("plan.decline", object{"values": object{"reason": "  "}}, "field")
	p.says("error.reason")
	p.act("plan.decline", "reason", "surgery next week")
	p.says("said.declined")
	again := object{"values": object{"reason": "surgery next week"}}
	p.refused("plan.decline", again, "phase") // a second touch
	p.exchange()
	decided := p.records(doc, sessions.KindDecision)
	if len(decided) != 1 || decided[0]["state"] != "declined" ||
		decided[0]["reason"] != "surgery next week" {
		t.Errorf("the decision is kept as %v", decided)
	}
	if plans := p.records(doc, sessions.KindPlan); len(plans) != 0 {
		t.Errorf("a declined plan is kept: %v", plans)
	}
	p.refused("work.begin", object{}, "no_plan")
}

// stepper is one number of the screen.
func (p *phone) stepper(id string) (found object) {
	p.t.Helper()
	each(p.view, func(o object) {
		if o["id"] == id && o["less"] != nil {
			found = o
		}
	})
	if found == nil {
		p.t.Fatalf("%s has no stepper %q: %s", p.route, id, p.text())
	}
	return found
}

// records reads what the server holds: the fields of each record of one kind, oldest first.
func (p *phone) records(doc, kind string) []object {
	p.t.Helper()
	var all []object
	d := p.house.document(doc)
	for _, r := range d.Records(kind) {
		if r.IsVoided() {
			continue
		}
		o := object{}
		for field := range r.Fields() {
			if n, is := r.Int(field); is {
				o[field] = n
			}
			if s, is := r.Text(field); is {
				o[field] = s
			}
		}
		all = append(all, o)
	}
	return all
}

// TestInvite words what happens without a network and shows the code with it.
func TestInvite(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Quin B.")
	online := p.offline()
	p.visit("/p/" + doc)
	p.act("/invite")
	p.says("invite.lead", "invite.unsent")
	p.act("invite.make")
	p.says("invite.offline", "invite.again")
	online()
	p.act("invite.make")
	p.saysNot("invite.how") // the server does not hold the record yet
	p.exchange()
	p.act("invite.make")
	p.says("invite.how", "invite.until")
	var rows []string
	for _, row := range p.view["qr"].([]any) {
		rows = append(rows, row.(string))
	}
	if len(rows) < 21 || len(rows[0]) != len(rows) { // 21 modules: ISO/IEC 18004, 2015, version 1
		t.Errorf("the square code has %d rows of %d", len(rows), len(rows[0]))
	}
}
