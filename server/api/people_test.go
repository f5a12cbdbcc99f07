package api

import (
	"net/http"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// TestPhones_Lost: a phone that is reported lost is out at once, its socket with it, and at its
// next contact it is told to empty itself; the practice sees when it was told.
func TestPhones_Lost(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	socket := coach.listen()
	h.wait(time.Minute)
	out := object{"device": clock.Device(2).String(), "wipe": true}
	if a := h.post("/api/phones/out", out, "Authorization", owner.bearer()); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if err := socket.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	for {
		_, _, err := socket.ReadMessage()
		if err == nil {
			continue // the first word on a new line
		}
		if !websocket.IsCloseError(err, websocket.ClosePolicyViolation) {
			t.Errorf("the socket: %v, want 1008", err)
		}
		break
	}
	if _, a := coach.send(coach.Request(h.read().UnixMilli(), limits)); a.status != 401 {
		t.Errorf("the token afterwards: %d", a.status)
	}
	if p := h.phoneOf(owner, "", 2); p["state"] != "wipe" || p["toldMS"] != float64(0) {
		t.Errorf("before its next contact: %v", p)
	}
	a := h.post("/api/token", object{}, "Cookie", coach.cookie)
	if a.status != http.StatusUnauthorized || a.code(t) != "wipe" {
		t.Errorf("its next contact: %d %s", a.status, a.body)
	}
	if p := h.phoneOf(owner, "", 2); p["toldMS"] != float64(h.read().UnixMilli()) {
		t.Errorf("after it: %v", p)
	}
}

// phoneOf returns what p is told of a device.
func (h *house) phoneOf(p *phone, doc string, device clock.Device) map[string]any {
	h.t.Helper()
	a := h.post("/api/people", object{"doc": doc}, "Authorization", p.bearer())
	for _, one := range a.json(h.t)["people"].([]any) {
		for _, d := range one.(map[string]any)["phones"].([]any) {
			if d := d.(map[string]any); d["device"] == device.String() {
				return d
			}
		}
	}
	return nil
}

// TestPeople_WhoSeesAndEndsWhose is the whole table by hand. Ours, no source.
func TestPeople_WhoSeesAndEndsWhose(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	docs := []record.ID{owner.newClient("Alex Example"), owner.newClient("Sam Example")}
	owner.sync()
	all := []*phone{
		owner, owner.invite(sessions.Coach, record.ID{}, 2),
		owner.invite(sessions.Assistant, record.ID{}, 3), owner.invite(sessions.ClientOf, docs[0], 4),
		owner.invite(sessions.ClientOf, docs[1], 5), owner.invite(sessions.Coach, record.ID{}, 6),
	}
	doc := map[int]string{3: docs[0].String(), 4: docs[1].String()}
	rows := []string{ // who asks: owner, coach, assistant, two clients, coach; '.' may
		"......", "-.-..-", "--.---", "---.--", "----.-", "---...",
	}
	for i, asker := range all {
		for j := range all {
			may := rows[i][j] == '.'
			if saw := h.sees(asker, doc[j], clock.Device(j+1)); saw != may && !(i == j && doc[j] != "") {
				t.Errorf("%s %d sees the phone of %d: %t, want %t", asker.id.Person.Role, i, j, saw, may)
			}
			if may {
				continue // ending it is tested by itself
			}
			a := h.post("/api/phones/out", object{"device": clock.Device(j + 1).String()},
				"Authorization", asker.bearer())
			if a.status != http.StatusForbidden {
				t.Errorf("%s %d ends the phone of %d: %d", asker.id.Person.Role, i, j, a.status)
			}
		}
		if i > 2 && i < 5 && !h.sees(asker, "", clock.Device(i+1)) {
			t.Errorf("client %d does not see the own phone", i)
		}
	}
	a := h.post("/api/phones/out", object{"device": clock.Device(404).String()},
		"Authorization", owner.bearer())
	if a.status != http.StatusForbidden {
		t.Errorf("a device never let in: %d", a.status)
	}
}

func (h *house) sees(p *phone, doc string, device clock.Device) bool {
	h.t.Helper()
	a := h.post("/api/people", object{"doc": doc}, "Authorization", p.bearer())
	return a.status == http.StatusOK && h.phoneOf(p, doc, device) != nil
}

// TestInvite_KnownStaff: staff who are invited again keep their person, name and role; and so
// does an owner without a phone, by a code made on the server itself.
func TestInvite_KnownStaff(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	a := h.post("/api/invitations", object{"role": "coach", "person": coach.id.Person.ID},
		"Authorization", owner.bearer())
	if a.status != http.StatusOK {
		t.Fatalf("%d %s", a.status, a.body)
	}
	again := h.join(a.json(t)["code"].(string), 3)
	if again.id.Person != coach.id.Person {
		t.Errorf("joined as %+v, want %+v", again.id.Person, coach.id.Person)
	}
	code, _, err := h.server.Desk().InviteOwner(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	looked := h.post("/api/join/look", object{"code": code.String()}).json(t)
	if looked["known"] != true || looked["role"] != "owner" {
		t.Errorf("look: %v", looked)
	}
	back := h.join(code.String(), 4)
	if back.id.Person != owner.id.Person || back.id.Practice != owner.id.Practice {
		t.Errorf("the owner came back as %+v", back.id)
	}
	if h.claimed != 1 {
		t.Errorf("claimed %d times", h.claimed)
	}
}

// TestRole_HoldsAtOnce: what a coach may, an assistant may not, from the change on; their open
// phone hears that there is news, and its next exchange names the role.
func TestRole_HoldsAtOnce(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	doc := owner.newClient("Alex Example")
	owner.sync()
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	invite := func() int {
		return h.post("/api/invitations", object{"role": "client", "doc": doc.String()},
			"Authorization", coach.bearer()).status
	}
	if got := invite(); got != http.StatusOK {
		t.Fatalf("as a coach: %d", got)
	}
	role := func() string {
		_, a := coach.send(coach.Request(h.read().UnixMilli(), limits))
		return a.header.Get("Evenhold-Role")
	}
	if got := role(); got != "coach" {
		t.Errorf("the exchange of a coach names %q", got)
	}
	socket := coach.listen()
	a := h.post("/api/people/role", object{"person": coach.id.Person.ID, "role": "assistant"},
		"Authorization", owner.bearer())
	if a.status != http.StatusNoContent {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if got := invite(); got != http.StatusForbidden {
		t.Errorf("as an assistant: %d", got)
	}
	if err := socket.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	if _, message, err := socket.ReadMessage(); err != nil || string(message) != `{"news":true}` {
		t.Errorf("the open phone hears %q, %v", message, err)
	}
	if got := role(); got != "assistant" {
		t.Errorf("the exchange of an assistant names %q", got)
	}
	for _, bad := range []object{
		{"person": owner.id.Person.ID, "role": "coach"}, {"person": "nobody", "role": "coach"},
		{"person": coach.id.Person.ID, "role": "owner"},
	} {
		a := h.post("/api/people/role", bad, "Authorization", owner.bearer())
		if a.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d %s", bad, a.status, a.body)
		}
	}
}

// TestTakeOut: a coach who is taken out is out with every phone and with the invitation that was
// open, is told to empty the phones, and by an invitation for the same person may come back, but
// not to what was shared by name.
func TestTakeOut(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	doc := owner.newClient("Alex Example")
	owner.sync()
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	who := coach.id.Person.ID
	owner.share(doc, []string{who})
	further := func() string {
		a := h.post("/api/invitations", object{"role": "coach", "person": who},
			"Authorization", owner.bearer())
		return a.json(t)["code"].(string)
	}
	second := h.join(further(), 3)
	open := further()
	for _, id := range []string{owner.id.Person.ID, "nobody"} {
		a := h.post("/api/people/out", object{"person": id}, "Authorization", owner.bearer())
		if a.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d, want 422", id, a.status)
		}
	}
	a := h.post("/api/people/out", object{"person": who, "wipe": true},
		"Authorization", owner.bearer())
	if a.status != http.StatusNoContent {
		t.Fatalf("%d %s", a.status, a.body)
	}
	for _, p := range []*phone{coach, second} {
		if _, a := p.send(p.Request(h.read().UnixMilli(), limits)); a.status != 401 {
			t.Errorf("%s afterwards: %d", p.id.Device, a.status)
		}
		if a := h.post("/api/token", object{}, "Cookie", p.cookie); a.code(t) != "wipe" {
			t.Errorf("%s at its next contact: %s", p.id.Device, a.body)
		}
	}
	if a := h.post("/api/join/look", object{"code": open}); a.status != http.StatusNotFound {
		t.Errorf("the invitation that was open: %d", a.status)
	}
	told := h.post("/api/sharing", object{"doc": doc.String()}, "Authorization", owner.bearer())
	if people := told.json(t)["people"].([]any); len(people) != 1 {
		t.Errorf("who sees the record: %v, want the owner alone", people)
	}
	back := h.join(further(), 4)
	back.sync()
	if back.id.Person != coach.id.Person || back.holds(doc) {
		t.Errorf("back as %+v, sees the record %t", back.id.Person, back.holds(doc))
	}
}
