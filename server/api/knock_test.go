package api

import (
	"bytes"
	"crypto/ecdh"
	"crypto/rand"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

var guesses = flag.Int("api.guesses", 1000, "how many codes are guessed")

// invitation has p make an invitation for a coach and returns its code.
func (p *phone) invitation() string {
	p.h.t.Helper()
	return p.h.post("/api/invitations", object{"role": "coach", "name": "Kim Example"},
		"Authorization", p.bearer()).json(p.h.t)["code"].(string)
}

// knocking is what a phone sends that shows a code, each time the same.
func knocking(code string, device clock.Device) object {
	return object{"code": code, "device": device.String()}
}

// knocks lists who waits for p's tap.
func (p *phone) knocks() []any {
	p.h.t.Helper()
	a := p.h.post("/api/knocks", nil, "Authorization", p.bearer())
	return a.json(p.h.t)["knocks"].([]any)
}

// answers has p tap on the only one who waits.
func (p *phone) answers(let bool) answer {
	p.h.t.Helper()
	waiting := p.knocks()
	if len(waiting) != 1 {
		p.h.t.Fatalf("%d wait, want one: %v", len(waiting), waiting)
	}
	return p.tap(waiting[0].(map[string]any)["id"], let)
}

func (p *phone) tap(id any, let bool) answer {
	p.h.t.Helper()
	return p.h.post("/api/knocks/answer", object{"id": id, "let": let}, "Authorization", p.bearer())
}

func (h *house) want(name string, a answer, status int, code string) {
	h.t.Helper()
	if a.status != status || code != "" && a.code(h.t) != code {
		h.t.Errorf("%s: %d %s, want %d %s", name, a.status, a.body, status, code)
	}
}

// TestKnock_OnlyTheTapLetsIn: "OAuth 2.0 Device Authorization Grant", RFC 8628, 2019, section 5.4,
// asks that who approves is shown which device it is; no look and no GET brings it in.
func TestKnock_OnlyTheTapLetsIn(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	code := owner.invitation()
	for range 10 {
		h.ask(http.MethodGet, "/join?code="+code, nil, "Accept", "text/html")
		h.ask(http.MethodGet, "/api/join?code="+code, nil)
		h.want("look", h.post("/api/join/look", object{"code": code}), http.StatusOK, "")
	}
	if waiting := owner.knocks(); len(waiting) != 0 {
		t.Fatalf("looking knocks: %v", waiting)
	}
	for range 3 {
		a := h.post("/api/join", knocking(code, 2), "User-Agent", "Test (Linux; Android 15)")
		if a.status != http.StatusAccepted || a.header.Get("Set-Cookie") != "" ||
			a.header.Get("Retry-After") != "3" || a.json(t)["leftMS"] != 600_000.0 {
			t.Fatalf("a knock: %d %s %v", a.status, a.body, a.header)
		}
	}
	waiting := owner.knocks()
	if len(waiting) != 1 {
		t.Fatalf("three asks of one phone are %d knocks", len(waiting))
	}
	for name, want := range map[string]any{"phone": "android", "address": "127.0.0.1",
		"name": "Kim Example", "role": "coach", "known": false,
		"atMS": float64(h.read().UnixMilli())} {
		if got := waiting[0].(map[string]any)[name]; got != want {
			t.Errorf("%s is shown as %v, want %v", name, got, want)
		}
	}
	_, synced := owner.send(owner.Request(h.read().UnixMilli(), limits))
	if got := synced.header.Get(knocksHeader); got != "1" {
		t.Errorf("an exchange says that %q wait", got)
	}
	h.want("the tap", owner.answers(true), http.StatusNoContent, "")
	h.phone(h.post("/api/join", knocking(code, 2)), 2).sync()
	h.want("no body", h.post("/api/knocks/answer", object{"id": "x"}, "Authorization",
		owner.bearer()), http.StatusUnprocessableEntity, "field")
}

// TestKnock_OnePhone: the tap is for the phone and the key that were shown; whoever else has the
// code, or says to be that phone without its key, is told that it was used, before and after.
func TestKnock_OnePhone(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	key, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	code := owner.invitation()
	mine := knocking(code, 2)
	mine["key"] = key.PublicKey().Bytes()
	others := []object{knocking(code, 3), knocking(code, 2)}
	others[0]["key"] = mine["key"]
	h.want("the first", h.post("/api/join", mine), http.StatusAccepted, "")
	ride := func(when string) {
		t.Helper()
		for _, other := range others {
			h.want(when, h.post("/api/join", other), http.StatusGone, "used")
		}
		h.want(when, h.post("/api/join/look", object{"code": code}), http.StatusGone, "used")
	}
	ride("while it waits")
	h.want("the tap", owner.answers(true), http.StatusNoContent, "")
	ride("after the tap")
	h.want("in", h.post("/api/join", mine), http.StatusOK, "")
	h.want("the answer was lost", h.post("/api/join", mine), http.StatusOK, "")
	ride("once it is in")
}

// TestKnock_TurnedAway: it is told so, and the code is dead for everybody.
func TestKnock_TurnedAway(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	code := owner.invitation()
	h.post("/api/join", knocking(code, 2))
	h.want("no", owner.answers(false), http.StatusNoContent, "")
	for range 2 {
		h.want("turned away", h.post("/api/join", knocking(code, 2)), http.StatusForbidden,
			"turned_away")
	}
	h.want("another phone", h.post("/api/join", knocking(code, 3)), http.StatusGone, "used")
}

// TestKnock_Ends: who knocks waits for ten minutes and not longer, and comes within ten minutes of
// the tap ("Application Security Verification Standard", OWASP, 5.0, 2025, 6.5.5: ten minutes).
func TestKnock_Ends(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	slow, late, gone := owner.invitation(), owner.invitation(), owner.invitation()
	h.wait(10*time.Minute - time.Millisecond)
	h.want("just in time", h.post("/api/join", knocking(slow, 2)), http.StatusAccepted, "")
	h.want("just in time", h.post("/api/join", knocking(late, 3)), http.StatusAccepted, "")
	h.wait(time.Millisecond)
	h.want("too late", h.post("/api/join", knocking(gone, 4)), http.StatusGone, "expired")
	h.wait(9 * time.Minute)
	owner.renew()
	waiting := owner.knocks()
	if len(waiting) != 2 {
		t.Fatalf("%d wait, want two", len(waiting))
	}
	id := map[string]any{}
	for _, k := range waiting {
		k := k.(map[string]any)
		for _, code := range []string{slow, late} {
			if strings.HasPrefix(code, k["id"].(string)) {
				id[code] = k["id"]
			}
		}
	}
	h.want("the tap", owner.tap(id[slow], true), http.StatusNoContent, "")
	h.wait(time.Minute)
	h.want("waited too long", h.post("/api/join", knocking(late, 3)), http.StatusGone, "expired")
	h.want("a late tap", owner.tap(id[late], true), http.StatusGone, "expired")
	if waiting := owner.knocks(); len(waiting) != 0 {
		t.Errorf("who has stopped waiting is listed: %v", waiting)
	}
	h.wait(9*time.Minute - time.Millisecond)
	h.want("let in", h.post("/api/join", knocking(slow, 2)), http.StatusOK, "")
}

// TestKnock_WhoAnswers: who invited and the owner, one of them; nobody else sees or answers it.
func TestKnock_WhoAnswers(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	other := owner.invite(sessions.Coach, record.ID{}, 3)
	doc := coach.newClient("Alex Example")
	coach.sync()
	code := h.post("/api/invitations", object{"role": "client", "doc": doc.String()},
		"Authorization", coach.bearer()).json(t)["code"].(string)
	h.post("/api/join", knocking(code, 4))
	if waiting := other.knocks(); len(waiting) != 0 {
		t.Errorf("another coach is shown %v", waiting)
	}
	id := coach.knocks()[0].(map[string]any)["id"]
	h.want("another coach", other.tap(id, true), http.StatusNotFound, "no_knock")
	h.want("nobody", owner.tap("NONE", true), http.StatusNotFound, "no_knock")
	h.want("still waits", h.post("/api/join", knocking(code, 4)), http.StatusAccepted, "")
	results := make(chan answer, 2)
	for _, p := range []*phone{owner, coach} {
		go func() { results <- p.tap(id, true) }()
	}
	first, second := <-results, <-results
	if first.status != http.StatusNoContent {
		first, second = second, first
	}
	h.want("the quicker", first, http.StatusNoContent, "")
	h.want("the slower", second, http.StatusConflict, "answered")
	h.want("a change of mind", coach.tap(id, false), http.StatusConflict, "answered")
	h.want("in", h.post("/api/join", knocking(code, 4)), http.StatusOK, "")
}

// TestKnock_Guessing: of guesses at a live code none hits, most are slowed down, and the code is
// dead after five ("OAuth 2.0 Device Authorization Grant", RFC 8628, 2019, section 5.1).
func TestKnock_Guessing(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	code := owner.invitation()
	handle, _, _ := strings.Cut(code, "-")
	seen := map[int]int{}
	for range *guesses {
		guess := handle + access.NewCode().String()[4:]
		if guess == code {
			continue // one in 25.6 thousand million
		}
		body, err := json.Marshal(knocking(guess, 2))
		if err != nil {
			t.Fatal(err)
		}
		answered, err := http.Post(h.url+"/api/join", typeJSON, bytes.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		_, err = io.Copy(io.Discard, answered.Body)
		if err := errors.Join(err, answered.Body.Close()); err != nil {
			t.Fatal(err)
		}
		seen[answered.StatusCode]++
	}
	if seen[http.StatusOK]+seen[http.StatusAccepted] > 0 ||
		seen[http.StatusNotFound] != store.MaxTries-1 || seen[http.StatusLocked] < 1 ||
		seen[http.StatusTooManyRequests] < *guesses-20 {
		t.Errorf("%d guesses were answered %v", *guesses, seen)
	}
	h.wait(access.SlowFor)
	h.want("the right code", h.post("/api/join", knocking(code, 2)), http.StatusLocked, "locked")
	if waiting := owner.knocks(); len(waiting) != 0 {
		t.Errorf("a guess waits: %v", waiting)
	}
}

// TestKnock_TakenOut: with who is taken out goes whom they invited, even with the tap made.
func TestKnock_TakenOut(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	doc := coach.newClient("Alex Example")
	coach.sync()
	code := h.post("/api/invitations", object{"role": "client", "doc": doc.String()},
		"Authorization", coach.bearer()).json(t)["code"].(string)
	h.post("/api/join", knocking(code, 4))
	h.want("the tap", coach.answers(true), http.StatusNoContent, "")
	h.want("taken out", h.post("/api/people/out", object{"person": coach.id.Person.ID},
		"Authorization", owner.bearer()), http.StatusNoContent, "")
	h.want("too late", h.post("/api/join", knocking(code, 4)), http.StatusNotFound, "unknown")
	h.want("another tap", coach.tap("ANY", true), http.StatusUnauthorized, "signin")
}

// TestKnock_Audit: the trail has who knocked and who answered, and neither address nor name.
func TestKnock_Audit(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	for i, let := range []bool{true, false} {
		device := clock.Device(2 + i)
		code := owner.invitation()
		h.post("/api/join", knocking(code, device))
		h.want("the tap", owner.answers(let), http.StatusNoContent, "")
		h.post("/api/join", knocking(code, device))
	}
	var acts []string
	err := h.store.Trail(t.Context(), func(_ int64, e store.Event) error {
		by := "somebody"
		if e.Device == owner.id.Device {
			by = "the owner"
		}
		acts = append(acts, by+" "+e.Act)
		if text := fmt.Sprint(e); strings.Contains(text, "127.0.0.1") || strings.Contains(text, "Kim") {
			t.Errorf("the trail says %s", text)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"the owner join", "the owner invite", "somebody knock", "the owner let_in",
		"somebody join", "the owner invite", "somebody knock", "the owner turn_away"}
	if !slices.Equal(acts[len(acts)-len(want):], want) {
		t.Errorf("the trail has %v, want %v", acts, want)
	}
}
