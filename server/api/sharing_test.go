package api

import (
	"net/http"
	"slices"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// share lets only the people named see doc, or all staff if people is nil.
func (p *phone) share(doc record.ID, people []string) {
	p.h.t.Helper()
	a := p.h.post("/api/sharing/set", object{"doc": doc.String(), "all": people == nil,
		"people": people}, "Authorization", p.bearer())
	if a.status != http.StatusNoContent {
		p.h.t.Fatalf("share: %d %s", a.status, a.body)
	}
}

func (p *phone) holds(doc record.ID) bool { return slices.Contains(p.Docs(), doc) }

// TestSharing: a record that is closed is gone from the phones of the staff who are not named,
// at their next contact, and nothing they write there arrives; what was unsent is listed. Let in
// again, they have all of it.
func TestSharing(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	other := owner.invite(sessions.Coach, record.ID{}, 3)
	doc, open := other.newClient("Alex Example"), other.newClient("Sam Example")
	for _, p := range []*phone{other, owner, coach} {
		p.sync()
	}
	h.wait(time.Minute)
	owner.share(doc, []string{coach.id.Person.ID})
	late := other.create(doc, sessions.KindTest, "kind", record.Text("side"))
	for _, p := range []*phone{other, owner, coach} {
		p.sync()
	}
	if other.holds(doc) || !other.holds(open) || !coach.holds(doc) || !owner.holds(doc) {
		t.Errorf("held by the shut out %t, the named %t, the owner %t; the other record %t",
			other.holds(doc), coach.holds(doc), owner.holds(doc), other.holds(open))
	}
	if refused := other.Refused(); len(refused) != 1 || refused[0].Op.Record != late {
		t.Errorf("listed as not arrived: %+v", refused)
	}
	if d, _ := owner.Doc(doc); d != nil {
		if _, arrived := d.Record(late); arrived {
			t.Error("an entry made after the end arrived")
		}
	}
	owner.share(doc, nil)
	other.sync()
	if d, found := other.Doc(doc); !found || len(d.Records(sessions.KindClient)) != 1 {
		t.Error("let in again, the own entries of before are not there")
	}
}

// TestSharing_Elsewhere: whoever does not see a record does not see its client's phones, invites
// nobody to it and ends no phone of it; and hears nothing of it on the socket.
func TestSharing_Elsewhere(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	doc := owner.newClient("Alex Example")
	owner.sync()
	owner.invite(sessions.ClientOf, doc, 4)
	invite := object{"role": "client", "doc": doc.String()}
	end := object{"device": clock.Device(4).String()}
	list := object{"doc": doc.String()}
	owner.share(doc, []string{})
	coach.sync()
	for path, body := range map[string]object{
		"/api/people": list, "/api/invitations": invite, "/api/phones/out": end,
		"/api/export": list,
	} {
		a := h.post(path, body, "Authorization", coach.bearer())
		if a.status != http.StatusForbidden {
			t.Errorf("%s: %d, want 403", path, a.status)
		}
	}
	readers, err := h.store.Readers(t.Context(), []record.ID{doc})
	if err != nil || readers[coach.id.Person.ID] || !readers[owner.id.Person.ID] {
		t.Errorf("who hears of it: %v, %v", readers, err)
	}
	bad := object{"doc": doc.String(), "people": []string{owner.id.Person.ID}}
	for _, body := range []object{bad, {"doc": doc.String(), "people": []string{"nobody"}},
		{"doc": record.ID{Device: 9, Seq: 9}.String(), "all": true}} {
		a := h.post("/api/sharing/set", body, "Authorization", owner.bearer())
		if a.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d, want 422", body, a.status)
		}
	}
	told := h.post("/api/sharing", list, "Authorization", owner.bearer()).json(t)
	if told["all"] != false || len(told["people"].([]any)) != 2 {
		t.Errorf("told of the sharing: %v", told)
	}
	owner.share(doc, nil)
	if a := h.post("/api/people", list, "Authorization", coach.bearer()); a.status != 200 {
		t.Errorf("let in again: %d", a.status)
	}
}

// TestSharing_ByACoach: a coach says who else sees a record they see themselves, and stays; of
// one that is closed to them they are told nothing.
func TestSharing_ByACoach(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	doc := owner.newClient("Alex Example")
	owner.sync()
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	other := owner.invite(sessions.Coach, record.ID{}, 3)
	coach.share(doc, []string{})
	for _, p := range []*phone{coach, other, owner} {
		p.sync()
	}
	if !coach.holds(doc) || other.holds(doc) || !owner.holds(doc) {
		t.Errorf("held by the coach %t, the other %t, the owner %t",
			coach.holds(doc), other.holds(doc), owner.holds(doc))
	}
	for _, path := range []string{"/api/sharing", "/api/sharing/set"} {
		a := h.post(path, object{"doc": doc.String(), "all": true}, "Authorization", other.bearer())
		if a.status != http.StatusForbidden {
			t.Errorf("%s of what is closed: %d, want 403", path, a.status)
		}
	}
}
