package api

import (
	"net/http"
	"strings"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// matrix says what each kind of caller is answered on each route: a route without a row fails.
// The letters stand for a stranger, a bad cookie and token, an owner, a coach, an assistant
// and a client: '.' is let in, '1' is 401, '3' is 403.
var matrix = map[string]string{
	"POST /api/passkeys/ask":  "......",
	"POST /api/passkeys/join": "......",
	"POST /api/passkeys/new":  "11....",
	"POST /api/passkeys":      "11....",
	"GET /livez":              "......",
	"GET /readyz":             "......",
	"POST /api/join/look":     "......",
	"POST /api/join":          "......",
	"GET /api/live":           "......",
	"POST /api/token":         "11....",
	"POST /api/device":        "11....",
	"POST /api/forget":        "11....",
	"POST /api/ticket":        "11....",
	"POST /api/invitations":   "11..33",
	"POST /api/knocks":        "11..33",
	"POST /api/knocks/answer": "11..33",
	"POST /api/people":        "11....",
	"POST /api/people/role":   "11.333",
	"POST /api/people/out":    "11.333",
	"POST /api/sharing":       "11..33",
	"POST /api/sharing/set":   "11..33",
	"POST /api/phones/out":    "11....",
	"POST /api/export":        "11..3.",
	"POST /api/sync":          "11....",
}

func TestRoutes_Matrix(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	doc := owner.newClient("Alex Example")
	owner.sync()
	callers := []*phone{
		{h: h},
		{h: h, cookie: cookieName + "=bm90IGEgc2VjcmV0", access: "no.token.atall"},
		owner,
		owner.invite(sessions.Coach, record.ID{}, 2),
		owner.invite(sessions.Assistant, record.ID{}, 3),
		owner.invite(sessions.ClientOf, doc, 4),
	}
	seen := map[string]bool{}
	for _, row := range h.server.routes() {
		name := row.method + " " + row.path
		seen[name] = true
		want, found := matrix[name]
		if !found || len(want) != len(callers) {
			t.Errorf("%s has no row in the matrix", name)
			continue
		}
		for i, caller := range callers {
			// A body that is not usable: what is let in fails on it and changes nothing.
			headers := []string{"Content-Type", row.body, "Cookie", caller.cookie}
			if caller.access != "" {
				headers = append(headers, "Authorization", caller.bearer())
			}
			if name == "POST /api/forget" && want[i] == '.' {
				continue // it would end the caller's phone; tested by itself
			}
			a := h.ask(row.method, row.path, []byte("?"), headers...)
			got := byte('.')
			switch a.status {
			case http.StatusUnauthorized:
				got = '1'
			case http.StatusForbidden:
				got = '3'
			}
			if got != want[i] {
				t.Errorf("%s by caller %d: %d %s, want %c", name, i, a.status, a.body, want[i])
			}
		}
	}
	for name := range matrix {
		if !seen[name] {
			t.Errorf("the matrix has a row for %s, which is no route", name)
		}
	}
}

// TestRoutes_ProofsAreNotSwapped: a cookie where a token is asked for and the other way round,
// and a ticket in either place, let nobody in.
func TestRoutes_ProofsAreNotSwapped(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	ticket := h.post("/api/ticket", object{}, "Authorization", owner.bearer()).json(t)["ticket"]
	secret := strings.TrimPrefix(owner.cookie, cookieName+"=")
	proofs := map[string]string{"ticket": ticket.(string), "secret": secret, "access": owner.access}
	for _, row := range h.server.routes() {
		for name, proof := range proofs {
			var a answer
			switch row.proof {
			case bearer:
				if name == "access" {
					continue
				}
				a = h.ask(row.method, row.path, nil, "Content-Type", row.body,
					"Authorization", "Bearer "+proof, "Cookie", owner.cookie)
			case cookie:
				if name == "secret" {
					continue
				}
				a = h.ask(row.method, row.path, nil, "Content-Type", row.body,
					"Cookie", cookieName+"="+proof, "Authorization", owner.bearer())
			default:
				continue
			}
			if a.status != http.StatusUnauthorized {
				t.Errorf("%s with a %s as its %s: %d", row.path, name, row.proof, a.status)
			}
		}
	}
}

// TestRoutes_ContentType: JSON sent as a type that a page of another site may send unasked
// ("Fetch", WHATWG, CORS-safelisted request headers) is not taken.
func TestRoutes_ContentType(t *testing.T) {
	h := build(t, "")
	for _, row := range h.server.routes() {
		if row.proof != open || row.body == "" {
			continue
		}
		for _, sent := range []string{"text/plain", "application/x-www-form-urlencoded", "",
			"multipart/form-data", "text/plain; application/json"} {
			a := h.ask(row.method, row.path, []byte("{}"), "Content-Type", sent)
			if a.status != http.StatusUnsupportedMediaType {
				t.Errorf("%s as %q: %d", row.path, sent, a.status)
			}
		}
		a := h.ask(row.method, row.path, []byte("{}"), "Content-Type", row.body+"; charset=utf-8")
		if a.status == http.StatusUnsupportedMediaType {
			t.Errorf("%s with a charset: %d", row.path, a.status)
		}
	}
}

func TestRoutes_BodyLimits(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	for _, row := range h.server.routes() {
		if row.body == "" {
			continue
		}
		size := maxJSONBytes
		if row.body == typeSync {
			size = wire.MaxBodyBytes
		}
		a := h.ask(row.method, row.path, make([]byte, size+1), "Content-Type", row.body,
			"Cookie", owner.cookie, "Authorization", owner.bearer())
		if a.status != http.StatusRequestEntityTooLarge {
			t.Errorf("%s with %d bytes: %d %.80s", row.path, size+1, a.status, a.body)
		}
	}
}

func TestRoutes_OffTheTable(t *testing.T) {
	h := build(t, "")
	a := h.ask(http.MethodGet, "/api/sync", nil, "Accept", "text/html")
	if a.status != http.StatusMethodNotAllowed || a.header.Get("Allow") != http.MethodPost ||
		a.code(t) != "method" {
		t.Errorf("another method: %d %q %s", a.status, a.header.Get("Allow"), a.body)
	}
	a = h.ask(http.MethodGet, "/api/nothing", nil, "Accept", "text/html")
	if a.status != http.StatusNotFound || a.code(t) != "route" {
		t.Errorf("no such route: %d %s", a.status, a.body)
	}
}

// TestForget: a phone that signs off is out at once, and its cookie is taken back.
func TestForget(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	a := h.post("/api/forget", object{}, "Authorization", owner.bearer())
	if a.status != http.StatusNoContent || !strings.Contains(a.header.Get("Set-Cookie"), "Max-Age=0") {
		t.Errorf("forget: %d %q", a.status, a.header.Get("Set-Cookie"))
	}
	if a := h.post("/api/token", object{}, "Cookie", owner.cookie); a.status != 401 {
		t.Errorf("the cookie afterwards: %d", a.status)
	}
	if _, a := owner.send(owner.Request(h.read().UnixMilli(), limits)); a.status != 401 {
		t.Errorf("the token afterwards: %d", a.status)
	}
}

// TestDevice_FurtherIdentity: a phone told "forked" gets a new identity, with which it goes on;
// its old token is then asked to be renewed, not found to be forged.
func TestDevice_FurtherIdentity(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	if a := h.post("/api/device", object{"device": clock.Device(1).String()},
		"Authorization", owner.bearer()); a.status != http.StatusConflict {
		t.Errorf("its own identity again: %d", a.status)
	}
	a := h.post("/api/device", object{"device": clock.Device(2).String()},
		"Authorization", owner.bearer())
	if a.status != http.StatusOK {
		t.Fatalf("%d %s", a.status, a.body)
	}
	again := h.phone(a, 2)
	if again.id.Person != owner.id.Person {
		t.Errorf("another person: %+v", again.id)
	}
	fresh := again.access
	again.access = owner.access
	if _, a := again.send(again.Request(h.read().UnixMilli(), limits)); a.status != 401 {
		t.Errorf("the new identity with the old token: %d", a.status)
	}
	again.access = fresh
	doc := again.newClient("Alex Example")
	again.sync()
	owner.sync()
	if _, found := owner.Doc(doc); !found {
		t.Error("the phone that keeps the old identity is cut off")
	}
}
