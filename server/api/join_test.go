package api

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"rsc.io/qr/coding"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// TestJoin_TheWayIn walks from a new practice to a client's phone.
func TestJoin_TheWayIn(t *testing.T) {
	h := build(t, "")
	code, _, err := h.server.Desk().SetUp(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	looked := h.post("/api/join/look", object{"code": strings.ToLower(code.String())})
	if v := looked.json(t); v["role"] != "owner" || v["practice"] != "" {
		t.Errorf("look: %v", v)
	}
	owner := h.join(code.String(), 1)
	if h.claimed != 1 || owner.id.Person.Role != sessions.Owner ||
		owner.id.Practice.Name != "Example Practice" || owner.id.Practice.Doc == "" ||
		owner.id.Device != clock.Device(1).String() || owner.id.Epoch == 0 {
		t.Errorf("the owner's identity: %+v, claimed %d", owner.id, h.claimed)
	}
	coach := owner.invite(sessions.Coach, record.ID{}, 2)
	doc := coach.newClient("Alex Example")
	early := h.post("/api/invitations", object{"role": "client", "doc": doc.String()},
		"Authorization", coach.bearer())
	if early.status != http.StatusNotFound || early.code(t) != "unknown_doc" {
		t.Errorf("inviting before the record is here: %d %s", early.status, early.body)
	}
	coach.sync()
	invited := h.post("/api/invitations", object{"role": "client", "doc": doc.String()},
		"Authorization", coach.bearer()).json(t)
	v := h.post("/api/join/look", object{"code": invited["code"]}).json(t)
	if v["role"] != "client" || v["person"] != "Alex Example" || v["practice"] != "Example Practice" {
		t.Errorf("look: %v", v)
	}
	client := h.join(invited["code"].(string), 3)
	if client.id.Doc != doc.String() || client.id.Person.Name != "Alex Example" ||
		client.id.Practice.Doc != "" {
		t.Errorf("the client's identity: %+v", client.id)
	}
	client.sync()
	if d, found := client.Doc(doc); !found || d.Len() != 1 {
		t.Error("the client's phone did not get the record")
	}
	if len(client.Docs()) != 1 {
		t.Errorf("the client's phone got %v", client.Docs())
	}
}

// TestJoin_Cookie: "Cookies: HTTP State Management Mechanism", the draft that follows RFC 6265,
// asks of a name with the prefix __Host- that it is Secure, has Path=/ and no Domain.
func TestJoin_Cookie(t *testing.T) {
	h := build(t, "")
	code, _, err := h.server.Desk().SetUp(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	a := h.post("/api/join", object{"code": code.String(), "device": clock.Device(1).String(),
		"name": "Robin Example", "practice": "Example Practice"})
	set := a.header.Get("Set-Cookie")
	for _, want := range []string{"__Host-evenhold=", "; Path=/", "; HttpOnly", "; Secure",
		"; SameSite=Strict", "; Max-Age="} {
		if !strings.Contains(set, want) {
			t.Errorf("cookie %q lacks %q", set, want)
		}
	}
	if strings.Contains(set, "Domain") {
		t.Errorf("cookie %q names a domain", set)
	}
	if secret := regexp.MustCompile("=([^;]*)").FindStringSubmatch(set)[1]; len(secret) < 43 {
		t.Errorf("the secret has %d characters of base 64, want 43 for 256 bits", len(secret))
	}
}

// TestJoin_Problems: each way an invitation can fail has a status and code of its own.
func TestJoin_Problems(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	newCode := func() string {
		return h.post("/api/invitations", object{"role": "coach", "name": "Kim Example"},
			"Authorization", owner.bearer()).json(t)["code"].(string)
	}
	join := func(code string, device any) answer {
		return h.post("/api/join", object{"code": code, "device": device})
	}
	used, late, guessed := newCode(), newCode(), newCode()
	h.join(used, 2)
	check := func(name string, a answer, status int, code string) {
		t.Helper()
		if a.status != status || a.code(t) != code {
			t.Errorf("%s: %d %s, want %d %s", name, a.status, a.body, status, code)
		}
		v := a.json(t)
		if a.header.Get("Content-Type") != "application/problem+json" || v["title"] == "" ||
			v["detail"] == "" || v["status"] != float64(status) || v["type"] == "" {
			t.Errorf("%s: not a problem as in RFC 9457: %s", name, a.body)
		}
	}
	check("used", join(used, clock.Device(9).String()), http.StatusGone, "used")
	check("no device", join(late, ""), http.StatusUnprocessableEntity, "field")
	check("a number for a device", join(late, 7), http.StatusBadRequest, "malformed")
	check("identity in use", join(late, clock.Device(2).String()), http.StatusConflict, "taken")
	check("nonsense", join("ABC", clock.Device(9).String()), http.StatusNotFound, "unknown")
	wrong := guessed[:len(guessed)-1] + "B"
	if wrong == guessed {
		wrong = guessed[:len(guessed)-1] + "C"
	}
	for range 4 {
		check("guessed", join(wrong, clock.Device(9).String()), http.StatusNotFound, "unknown")
	}
	check("guessed five times", join(wrong, clock.Device(9).String()), http.StatusLocked, "locked")
	check("the right code then", join(guessed, clock.Device(9).String()), http.StatusLocked,
		"locked")
	h.wait(access.CodeLife)
	check("late", join(late, clock.Device(9).String()), http.StatusGone, "expired")
	slowed := answer{}
	for range 100 {
		slowed = join("BCDF-GHJK-LMNP", clock.Device(9).String())
	}
	check("a hundred guesses", slowed, http.StatusTooManyRequests, "slow")
	if slowed.header.Get("Retry-After") != "6" {
		t.Errorf("Retry-After %q", slowed.header.Get("Retry-After"))
	}
	code, isNew, err := h.server.Desk().SetUp(t.Context())
	if err != nil || isNew {
		t.Errorf("a second set-up is offered: %s, %v", code, err)
	}
}

// TestJoin_NoGetHasEffects: what fetches links before people do uses nothing up.
func TestJoin_NoGetHasEffects(t *testing.T) {
	h := build(t, "")
	code, _, err := h.server.Desk().SetUp(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for range 10 {
		for _, path := range []string{"/join", "/api/join", "/api/join/look"} {
			h.ask(http.MethodGet, path+"?code="+code.String(), nil, "Accept", "text/html")
		}
	}
	h.join(code.String(), 1)
}

func TestJoin_Names(t *testing.T) {
	h := build(t, "")
	code, _, err := h.server.Desk().SetUp(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	good := object{"code": code.String(), "device": clock.Device(1).String(), "name": "Robin",
		"practice": "Example Practice"}
	for _, field := range []string{"name", "practice"} {
		for _, bad := range []string{"", "  ", "two\nlines", strings.Repeat("x", 101)} {
			asked := object{}
			for key, value := range good {
				asked[key] = value
			}
			asked[field] = bad
			a := h.post("/api/join", asked)
			if a.status != http.StatusUnprocessableEntity || a.json(t)["field"] != field {
				t.Errorf("%s %q: %d %s", field, bad, a.status, a.body)
			}
		}
	}
	if a := h.post("/api/join", good); a.status != http.StatusOK {
		t.Errorf("after being corrected: %d %s", a.status, a.body)
	}
}

// TestInvite_QR: the square has a size that QR codes have, 17 + 4 × version modules, and the
// finder patterns that scanners look for in three corners (ISO/IEC 18004, from memory).
func TestInvite_QR(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	v := h.post("/api/invitations", object{"role": "coach", "name": "Kim Example"},
		"Authorization", owner.bearer()).json(t)
	link, code := v["link"].(string), v["code"].(string)
	if link != public+"/join#"+code {
		t.Errorf("link %q for code %q", link, code)
	}
	if v["leftMS"] != float64((10 * time.Minute).Milliseconds()) {
		t.Errorf("it is good for %v ms, want ten minutes", v["leftMS"])
	}
	square := v["qr"].(map[string]any)
	size, rows := int(square["size"].(float64)), square["rows"].([]any)
	if size != len(rows) || (size-17)%4 != 0 || size > 17+4*int(coding.MaxVersion) {
		t.Fatalf("size %d, %d rows", size, len(rows))
	}
	finder := []string{"1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"}
	for y, want := range finder {
		top, bottom := rows[y].(string), rows[size-7+y].(string)
		if top[:7] != want || top[size-7:] != want || bottom[:7] != want {
			t.Errorf("row %d: %s ... %s", y, top, bottom)
		}
	}
}
