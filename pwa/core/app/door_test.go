package app_test

import "testing"

// invited is an owner who shows a code for a client, and a phone with that code on the way in.
func invited(t *testing.T, h *house) (owner, guest *phone) {
	t.Helper()
	owner = h.owner()
	owner.addClient("Ada M.")
	owner.exchange()
	owner.act("/invite")
	owner.act("invite.make")
	guest = newPhone(t)
	guest.house, guest.wallMS = h, h.nowMS
	guest.do("join.code", object{"code": owner.view["code"].(string)})
	return owner, guest
}

// TestDoor_Waits: a phone that knocked asks on, through a dead network and a reload, and is let in
// by the tap on the other phone, and only by it.
func TestDoor_Waits(t *testing.T) {
	h := newHouse(t)
	owner, guest := invited(t, h)
	online := guest.offline()
	guest.act("join.do")
	guest.says("welcome.looking", "error.offline")
	guest.doLater()
	online()
	guest.doLater()
	guest.says("wait.finding", "wait.lead")
	guest.saysNot("error.offline")
	guest.do("join.do", object{"values": object{}}) // a second touch
	guest.says("wait.finding")

	owner.wait(guest.wallMS - owner.wallMS)
	owner.exchange()
	owner.says("knock.finding", "knock.phone_other", "knock.from", "phones.person")
	guest.reload()
	guest.says("wait.finding")
	guest.offline()()
	for range 3 {
		guest.doLater()
		guest.says("wait.finding")
	}
	owner.choose("knock.let")
	owner.says("knock.let_in", "invite.lead")
	owner.saysNot("knock.finding")
	guest.doLater()
	guest.exchange()
	guest.says("today.no_plan")
	if guest.later != "" {
		t.Errorf("a phone that is in asks on: %q", guest.later)
	}
	guest.reload()
	guest.says("today.no_plan")
}

// TestDoor_TurnedAway says so on both phones, and forgets what it asked with.
func TestDoor_TurnedAway(t *testing.T) {
	h := newHouse(t)
	owner, guest := invited(t, h)
	guest.act("join.do")
	owner.exchange()
	owner.choose("knock.away")
	owner.says("knock.turned_away")
	guest.doLater()
	guest.says("welcome.trouble", "problem.turned_away")
	guest.reload()
	guest.says("welcome.finding")
	guest.saysNot("welcome.looking", "wait.finding")
}

// TestDoor_Ends: who waits is told when the time is over, and may stop before.
func TestDoor_Ends(t *testing.T) {
	h := newHouse(t)
	owner, guest := invited(t, h)
	guest.act("join.do")
	owner.exchange()
	guest.wait(10 * 60 * 1000)
	guest.doLater()
	guest.says("problem.expired")
	owner.choose("knock.let")
	owner.says("problem.expired")
	owner.saysNot("knock.finding")

	owner, guest = invited(t, newHouse(t))
	guest.offline()
	guest.act("join.do")
	guest.wait(10 * 60 * 1000)
	guest.doLater() // no server has said that it is over
	guest.says("problem.expired")

	_, guest = invited(t, newHouse(t))
	guest.act("join.do")
	guest.act("join.stop")
	guest.says("welcome.finding")
	guest.do("join.again", nil)
	guest.says("welcome.finding")
	owner.wait(11 * 60 * 1000)
	owner.visit(owner.route)
	owner.says("invite.lead", "invite.make")
	owner.saysNot("invite.until")
}

// TestDoor_Line: other screens lead to who waits; the slower of two who answer is told.
func TestDoor_Line(t *testing.T) {
	h := newHouse(t)
	owner, guest := invited(t, h)
	coach := owner.colleague("coach", "Kim")
	coach.exchange()
	coach.visit("/")
	doc := coach.addClient("Bea N.")
	coach.exchange()
	coach.visit("/p/" + doc + "/invite")
	coach.act("invite.make")
	guest = newPhone(t)
	guest.house, guest.wallMS = h, h.nowMS
	guest.do("join.code", object{"code": coach.view["code"].(string)})
	guest.act("join.do")
	owner.exchange()
	owner.visit("/")
	owner.says("knock.finding")
	owner.act("/door")
	owner.says("knock.lead")
	if owner.view["running"] != nil {
		t.Error("the door leads to itself")
	}
	coach.exchange()
	coach.choose("knock.let")
	owner.choose("knock.away")
	owner.says("problem.answered", "people.add")
	guest.doLater()
	guest.exchange()
	guest.says("today.no_plan")
}

// TestDoor_BackIn: a phone whose sign-in has ended waits for the tap too, and keeps what it has.
func TestDoor_BackIn(t *testing.T) {
	h := newHouse(t)
	owner, guest := invited(t, h)
	guest.join()
	guest.exchange()
	doc := docOf(t, owner.route)
	guest.send("sync.state", object{"state": "idle", "code": "signin"})
	before := guest.digests()
	owner.visit("/p/" + doc + "/invite")
	owner.act("invite.make")
	guest.do("join.code", object{"code": owner.view["code"].(string)})
	guest.act("join.back")
	guest.says("wait.finding")
	guest.reload()
	guest.visit("/")
	guest.saysNot("wait.finding")
	guest.visit("/join")
	guest.says("wait.finding")
	h.letIn()
	guest.doLater()
	guest.exchange()
	same(t, "back in", guest.digests(), before)
}
