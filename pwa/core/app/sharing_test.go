package app_test

import (
	"strings"
	"testing"

	"evenhold/internal/sessions"
)

// colleague has the owner invite a coach or an assistant.
func (p *phone) colleague(role sessions.Role, name string) *phone {
	p.t.Helper()
	p.visit("/practice/people/new")
	p.act("invite.make", "name", name, "role", string(role))
	p.says("invite.until", "staff.how")
	joined := p.house.guest(p.view["code"].(string), name)
	p.visit("/")
	return joined
}

// choose taps the action with that label, the first of several.
func (p *phone) choose(label string) {
	p.t.Helper()
	var found object
	each(p.view, func(o object) {
		text, _ := o["label"].(map[string]any)
		if found == nil && text["k"] == label && o["do"] != nil {
			found = o
		}
	})
	if found == nil {
		p.t.Fatalf("%q is not offered on %s: %s", label, p.route, p.text())
	}
	p.tap(found)
}

// TestClosedRecordLeavesThePhone: a coach from whom the owner keeps a record is told why it left
// the phone, and no row of it stays; it comes back when the owner takes that back.
func TestClosedRecordLeavesThePhone(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	doc := owner.addClient("Ira K.", "massG", "70")
	owner.exchange()
	coach := owner.colleague(sessions.Coach, "Kim")
	coach.exchange()
	coach.visit("/p/" + doc)
	owner.visit("/p/" + doc)
	owner.act("/sharing")
	owner.says("share.all", "share.sees", "share.owner", "share.end",
		"share.close_owner")
	owner.saysNot("share.sees_not", "share.open", "share.close")
	owner.choose("share.end")
	owner.says("share.some", "share.sees_not", "share.add", "roster.said", "share.open")

	coach.exchange()
	coach.says("sync.closed", "people.none")
	for key := range coach.rows {
		if key.key == doc || key.store == "log" && strings.HasPrefix(key.key, doc+"/") {
			t.Errorf("%s/%s is still there", key.store, key.key)
		}
	}
	coach.visit("/p/" + doc + "/sharing")
	coach.says("people.none")

	owner.choose("action.undo")
	owner.says("share.all")
	coach.exchange()
	if coach.digests()[doc] == "" {
		t.Error("shared again, the record did not come back")
	}
}

// TestSharingByACoach: a coach keeps a record to the owner and themselves, with one of the two
// others let in; who is not offered to be shut out are the owner and the coach.
func TestSharingByACoach(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	doc := owner.addClient("Ira K.", "massG", "70")
	owner.exchange()
	coach := owner.colleague(sessions.Coach, "Kim")
	ada, ben := owner.colleague(sessions.Assistant, "Ada"), owner.colleague(sessions.Assistant, "Ben")
	coach.visit("/p/" + doc + "/sharing")
	if n := len(coach.offers("share.set")); n != 3 {
		t.Errorf("%d changes are offered, want two people and one for all", n)
	}
	coach.choose("share.close")
	coach.says("share.some")
	for i, p := range []*phone{owner, coach, ada, ben} {
		p.exchange()
		if held := p.digests()[doc] != ""; held != (i < 2) {
			t.Errorf("phone %d holds the record: %t", i, held)
		}
	}
	coach.choose("share.add")
	ada.exchange()
	ben.exchange()
	a, b := ada.digests()[doc] != "", ben.digests()[doc] != ""
	if !a || b {
		t.Errorf("with Ada let in: Ada %t, Ben %t", a, b)
	}
	ada.visit("/p/" + doc)
	if len(ada.offers("/sharing")) > 0 {
		t.Error("an assistant is offered to share")
	}
}
