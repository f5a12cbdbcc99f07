package app_test

import (
	"strings"
	"testing"
	"time"

	"evenhold/server/access"
	"evenhold/server/store"
)

// TestInvitationRefused words each way in which an invitation does not let a phone in.
func TestInvitationRefused(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	doc := owner.addClient("Ian V.")
	owner.exchange()
	invite := func() string {
		owner.visit("/p/" + doc + "/invite")
		owner.act("invite.make")
		return owner.view["code"].(string)
	}
	used := invite()
	h.guest(used, "")

	p := newPhone(t)
	p.says("welcome.finding", "state.not_joined")
	p.refused("join.code", object{"values": object{"code": " "}}, "field")
	p.do("join.code", object{"code": used})
	p.says("error.offline")
	p.house, p.wallMS = h, h.nowMS
	for _, tt := range []struct{ name, code, says string }{
		{"used", used, "problem.used"},
		{"no code at all", "hello", "problem.unknown_code"},
		{"of nobody", access.NewCode().String(), "problem.unknown_code"},
	} {
		p.do("join.code", object{"code": tt.code})
		p.says("welcome.trouble", tt.says)
		if len(p.offers("join.do")) > 0 {
			t.Errorf("%s: the phone may join all the same", tt.name)
		}
	}

	late := invite()
	p.wait((access.CodeLife + time.Second).Milliseconds())
	p.do("join.code", object{"code": late})
	p.says("problem.expired")

	open := invite()
	cut := "https://practice.example/join#" + open[:5] + "\n" + open[5:]
	p.do("join.code", object{"values": object{"code": cut}})
	p.says("join.client", "join.client_data")
	p.join()
	p.exchange()
	p.says("today.no_plan")
	before := p.digests()
	p.do("join.code", object{"code": open}) // the link is opened again
	p.says("again.finding", "again.over_lead")
	p.act("/")
	same(t, "after the link was opened again", p.digests(), before)
}

// TestPhoneChangesHands lets a phone in anew only when nothing waits to be sent, and then keeps
// nothing of the person before.
func TestPhoneChangesHands(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	var docs, codes []string
	for _, name := range []string{"Kit X.", "Lou Y."} {
		docs = append(docs, owner.addClient(name))
		owner.exchange()
		owner.act("/invite")
		owner.act("invite.make")
		codes = append(codes, owner.view["code"].(string))
	}
	unsent := owner.addClient("Mia Z.")
	owner.do("join.code", object{"code": codes[1]})
	owner.says("again.unsent")
	owner.send("join.over", object{})
	if _, held := owner.digests()[unsent]; !held {
		t.Fatal("what was not sent is gone")
	}
	p := h.guest(codes[0], "")
	p.do("join.code", object{"code": codes[1]})
	p.act("join.over")
	p.says("join.client")
	p.join()
	p.exchange()
	p.reload()
	if held := p.digests(); len(held) != 1 || held[docs[1]] == "" {
		t.Errorf("the phone holds %v, want the record %s alone", held, docs[1])
	}
	for key, row := range p.rows {
		text, _ := row.(rawJSON)
		bytes, _ := row.([]byte)
		if strings.Contains(string(text)+string(bytes), "Kit X.") {
			t.Errorf("%s/%s still holds the person before", key.store, key.key)
		}
	}
}

// TestGuessedInvitationLocks tells a right code that it is locked after five wrong ones.
func TestGuessedInvitationLocks(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	doc := owner.addClient("Jan W.")
	owner.exchange()
	owner.visit("/p/" + doc + "/invite")
	owner.act("invite.make")
	code := owner.view["code"].(string)
	p := newPhone(t)
	p.house = h
	for range store.MaxTries - 1 {
		p.do("join.code", object{"code": guess(code)})
		p.says("problem.unknown_code")
	}
	p.do("join.code", object{"code": guess(code)})
	p.says("problem.locked")
	p.do("join.code", object{"code": code})
	p.says("problem.locked")
	for range 10 {
		p.do("join.code", object{"code": access.NewCode().String()})
	}
	p.says("problem.rate")
}

// guess is a code with its last letter changed.
func guess(code string) string {
	last := byte('B')
	if code[len(code)-1] == last {
		last = 'C'
	}
	return code[:len(code)-1] + string(last)
}
