package app_test

import (
	"encoding/json"
	"testing"
)

// problemAt signs in as the worker does and returns the code of the problem, "" if all is well.
func (p *phone) problemAt() string {
	p.t.Helper()
	p.token = ""
	response := p.house.post("/api/token", "application/json", []byte("{}"), "Cookie", p.cookie)
	var problem struct{ Code string }
	if err := json.NewDecoder(response.Body).Decode(&problem); err != nil {
		p.t.Fatal(err)
	}
	return problem.Code
}

// TestLostPhoneIsEmptied: the coach ends a client's lost phone after a question that says what
// is lost; at its next contact it empties itself and says how much had not been sent.
func TestLostPhoneIsEmptied(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	doc := owner.addClient("Ira K.", "massG", "70")
	owner.screen(doc)
	owner.exchange()
	owner.visit("/p/" + doc + "/invite")
	owner.act("invite.make")
	lost := h.guest(owner.view["code"].(string), "")
	lost.exchange()

	owner.visit("/p/" + doc + "/phones")
	owner.says("phones.person", "phones.joined", "phones.contact")
	owner.act("phones.ask")
	owner.says("phones.end_finding", "phones.end_lead", "phones.lost_lead")
	owner.do("phones.end", object{"wipe": true})
	owner.says("phones.state_wipe")
	if len(owner.offers("phones.ask")) > 0 {
		t.Error("a phone that is out can be shut out again")
	}

	code := lost.problemAt()
	if code != "wipe" {
		t.Fatalf("its next contact: %q, want wipe", code)
	}
	lost.send("sync.state", object{"state": "idle", "code": code})
	lost.says("out.wiped", "welcome.finding")
	// News that had been on its way makes the worker ask once more.
	if a := lost.send("sync.request", object{}); a.Error != nil || a.Request != nil {
		t.Errorf("an emptied phone has something to send: %v", a.Error)
	}
	lost.send("sync.state", object{"state": "idle"})
	lost.says("out.wiped", "welcome.finding")
	for key := range lost.rows {
		if key.store == "snap" || key.store == "log" || key.key == "me" {
			t.Errorf("%s/%s is still there", key.store, key.key)
		}
	}
	lost.reload()
	lost.says("welcome.finding")
	owner.visit("/")
	owner.visit("/p/" + doc + "/phones")
	owner.says("phones.told")
}

// TestSignOff: a phone is signed off after a question that counts what would be lost, and only
// when the server has heard of it.
func TestSignOff(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	owner.exchange()
	owner.addClient("Ira K.")
	owner.visit("/phones")
	owner.says("phones.this")
	owner.do("phones.ask", object{"off": true})
	owner.says("phones.off_finding", "phones.off_unsent")
	owner.house = nil
	owner.act("phones.off")
	owner.says("error.offline")
	if len(owner.digests()) == 0 {
		t.Fatal("emptied though the server did not hear of it")
	}
	owner.house = h
	owner.do("phones.ask", object{"off": true})
	cookie := owner.cookie
	owner.act("phones.off")
	owner.says("phones.off_said", "welcome.finding")
	owner.cookie = cookie // as kept by a copy
	if code := owner.problemAt(); code != "revoked" {
		t.Errorf("its cookie then: %q, want revoked", code)
	}
}

// TestBackInKeepsWork: a phone whose sign-in was ended, or whose browser dropped its cookie after
// more than a year, goes on with an invitation for the same person, and what it had not sent
// arrives.
func TestBackInKeepsWork(t *testing.T) {
	for _, out := range []string{"ended", "signin"} {
		h := newHouse(t)
		owner := h.owner()
		owner.exchange()
		unsent := owner.addClient("Ira K.")
		owner.send("sync.state", object{"state": "idle", "code": out})
		owner.visit("/sync")
		owner.says("out.finding", "out."+out)
		code, _, err := h.server.Desk().InviteOwner(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		owner.do("join.code", object{"code": code.String()})
		owner.says("again.back_lead")
		owner.act("join.back")
		owner.exchange()
		owner.visit("/sync")
		owner.saysNot("out.finding")
		if owner.digests()[unsent] == "" {
			t.Errorf("%s: what was not sent is gone", out)
		}
		if docs, err := h.store.Documents(t.Context()); err != nil || len(docs) != 2 {
			t.Errorf("%s: the server holds %v, %v; want the practice and the client", out, docs, err)
		}
	}
}
