package app_test

import (
	"testing"

	"evenhold/internal/sessions"
)

// TestStaff: the owner invites an assistant, makes them a coach and takes that back, lets a
// further phone of theirs in, and takes them out after a question that says what is lost.
func TestStaff(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	doc := owner.addClient("Ira K.", "massG", "70")
	owner.exchange()
	owner.visit("/practice/people/new")
	owner.refused("invite.make", object{"values": object{"name": " ", "role": "coach"}}, "field")
	kim := owner.colleague(sessions.Assistant, "Kim")
	owner.visit("/practice")
	owner.says("staff.title")
	owner.visit("/practice/people")
	owner.says("staff.title", "rights.of_owner", "rights.of_assistant", "rights.title")
	kimsPage := owner.rowOf("Kim")
	owner.visit(kimsPage)
	owner.says("rights.of_assistant", "phones.joined", "staff.make_coach")
	kim.visit("/p/" + doc)
	if len(kim.offers("/sharing")) > 0 {
		t.Error("an assistant is offered what a coach may")
	}
	owner.choose("staff.make_coach")
	owner.says("rights.of_coach", "roster.said")
	owner.choose("action.undo")
	owner.says("rights.of_assistant", "staff.make_coach")

	owner.act("/invite")
	owner.says("staff.further_lead")
	owner.act("invite.make")
	owner.says("invite.until")
	further := newPhone(t)
	further.house, further.wallMS = h, h.nowMS
	further.do("join.code", object{"code": owner.view["code"].(string)})
	further.says("join.known")
	further.join()
	further.exchange()
	if further.digests()[doc] == "" {
		t.Error("the further phone has no records")
	}

	owner.visit(kimsPage)
	if n := len(owner.texts("phones.joined")); n != 2 {
		t.Errorf("%d phones are listed, want both", n)
	}
	owner.choose("staff.take_out")
	owner.says("staff.out_finding", "staff.out_lead", "staff.wipe_lead")
	owner.choose("phones.leave")
	owner.says("staff.take_out")
	owner.choose("staff.take_out")
	owner.choose("staff.wipe_go")
	owner.says("phones.state_wipe", "staff.further")
	owner.saysNot("staff.take_out")
	for _, p := range []*phone{kim, further} {
		if code := p.problemAt(); code != "wipe" {
			t.Errorf("at its next contact a phone hears %q, want wipe", code)
		}
	}
	owner.visit("/practice/people")
	owner.says("staff.out")
}

// TestRoleChanges: with its next exchange a phone is a coach's or an assistant's, keeps that over a
// restart, and says so; it never becomes an owner's or a client's by what an answer names.
func TestRoleChanges(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	doc := owner.addClient("Ira K.", "massG", "70")
	owner.exchange()
	kim := owner.colleague(sessions.Assistant, "Kim")
	turn := func(to string, offered bool) {
		owner.visit("/practice/people")
		owner.visit(owner.rowOf("Kim"))
		owner.choose("staff.make_" + to)
		kim.visit("/p/" + doc)
		kim.exchange()
		kim.says("staff.now", "staff.may_"+to)
		if is := len(kim.offers("/invite")) > 0; is != offered {
			t.Errorf("%s: inviting is offered: %t", to, is)
		}
		kim.reload()
		kim.visit("/p/" + doc)
		if is := len(kim.offers("/invite")) > 0; is != offered {
			t.Errorf("%s, after a restart: inviting is offered: %t", to, is)
		}
		kim.exchange()
		kim.saysNot("staff.now")
	}
	turn("coach", true)
	turn("assistant", false)
	for _, role := range []string{"owner", "client", "", "warden"} {
		asking := kim.send("sync.request", object{})
		body, _ := kim.carry(asking.blobs[*asking.Request])
		kim.send("sync.response", object{"role": role}, body)
		kim.visit("/practice")
		kim.saysNot("staff.now", "staff.title")
	}
}

// rowOf returns where the row with that title leads.
func (p *phone) rowOf(title string) (route string) {
	each(p.view, func(o object) {
		said, _ := o["title"].(object)
		if args, _ := said["a"].(object); args["text"] == title {
			route, _ = o["route"].(string)
		}
	})
	return route
}

// TestOwnersFurtherPhone: an owner's second phone asks for no practice, and names none a
// second time.
func TestOwnersFurtherPhone(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	owner.exchange()
	owner.visit("/practice/people")
	owner.visit("/practice/people/" + owner.member().Person.ID)
	owner.says("staff.owner")
	owner.saysNot("staff.take_out")
	owner.act("/invite")
	owner.act("invite.make")
	before := h.practiceNames()
	second := newPhone(t)
	second.house, second.wallMS = h, h.nowMS
	second.do("join.code", object{"code": owner.view["code"].(string)})
	second.says("join.known")
	second.saysNot("join.practice")
	second.join()
	second.exchange()
	second.says("people.none")
	if after := h.practiceNames(); after != before {
		t.Errorf("the practice is named %d times, before %d", after, before)
	}
}

// practiceNames counts the records that name the practice.
func (h *house) practiceNames() int {
	h.t.Helper()
	practice, err := h.store.Practice(h.t.Context())
	if err != nil {
		h.t.Fatal(err)
	}
	return len(h.document(practice.Doc.String()).Records(sessions.KindPractice))
}
