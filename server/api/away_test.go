package api

import (
	"net/http"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

const day = 24 * time.Hour

// keptUntil is when a browser drops the cookie of an answer: its Max-Age after it came ("HTTP State
// Management Mechanism", RFC 6265, 2011, section 5.3).
func (h *house) keptUntil(a answer) time.Time {
	h.t.Helper()
	c, err := http.ParseSetCookie(a.header.Get("Set-Cookie"))
	if err != nil || c.MaxAge <= 0 {
		h.t.Fatalf("no cookie to keep: %v %v", c, err)
	}
	return h.read().Add(time.Duration(c.MaxAge) * time.Second)
}

// TestSync_Away: a client trains for a fortnight, or for more than a year, without a network, while
// the coach goes on. As long as the browser has the cookie the phone signs in by itself; without it
// a new invitation takes the same phone back in. All that is on it arrives, and nothing is refused.
func TestSync_Away(t *testing.T) {
	for _, tt := range []struct {
		away    time.Duration
		hasKept bool // the cookie
	}{
		{14 * day, true}, {399 * day, true}, {401 * day, false},
	} {
		h := build(t, "")
		coach := h.owner(1)
		doc := coach.newClient("Alex Example")
		coach.sync()
		client := coach.invite(sessions.ClientOf, doc, 2)
		client.sync()
		last := h.post("/api/token", object{}, "Cookie", client.cookie)
		client.take(last)
		until, back := h.keptUntil(last), h.read().Add(tt.away)

		sets := 0
		for ; h.read().Add(7 * day).Before(back); sets++ {
			h.wait(7 * day)
			client.create(doc, sessions.KindSet, "reps", record.Int(int64(sets)))
			coach.renew()
			coach.create(doc, sessions.KindSession, "painPlace", record.Text("left"))
			coach.sync()
		}
		h.wait(back.Sub(h.read()))
		if is := h.read().Before(until); is != tt.hasKept {
			t.Fatalf("after %v the browser has the cookie: %v, want %v", tt.away, is, tt.hasKept)
		}
		if !tt.hasKept {
			client.comeBack(coach, doc)
		}
		client.renew()
		client.sync()
		coach.renew()
		coach.sync()
		kept, err := h.store.Document(t.Context(), doc)
		if err != nil {
			t.Fatal(err)
		}
		if client.Unsent() != 0 || len(client.Refused()) != 0 || sets < 1 {
			t.Errorf("after %v: %d unsent, refused %v", tt.away, client.Unsent(), client.Refused())
		}
		if got := len(kept.Records(sessions.KindSet)); got != sets {
			t.Errorf("after %v the server has %d sets, want %d", tt.away, got, sets)
		}
		for who, p := range map[string]*phone{"client": client, "coach": coach} {
			if d, _ := p.Doc(doc); d.Digest() != kept.Digest() {
				t.Errorf("after %v the %s's phone differs from the server", tt.away, who)
			}
		}
	}
}

// comeBack is what a phone does whose cookie is gone: it is told that it is not signed in, and goes
// on under its own identity with a new invitation of the same person.
func (p *phone) comeBack(coach *phone, doc record.ID) {
	p.h.t.Helper()
	if a := p.h.post("/api/token", object{}); a.status != http.StatusUnauthorized ||
		a.code(p.h.t) != "signin" {
		p.h.t.Errorf("without a cookie: %d %s", a.status, a.body)
	}
	coach.renew()
	invited := p.h.post("/api/invitations", object{"role": "client", "doc": doc.String()},
		"Authorization", coach.bearer()).json(p.h.t)
	asked := object{"code": invited["code"], "device": clock.Device(2).String()}
	p.h.post("/api/join", asked)
	p.h.letIn()
	a := p.h.post("/api/join", asked)
	if a.status != http.StatusOK {
		p.h.t.Fatalf("back in: %d %s", a.status, a.body)
	}
	back := p.h.phone(a, 2)
	if back.id.Device != p.id.Device || back.id.Doc != doc.String() || back.id.Person != p.id.Person {
		p.h.t.Errorf("back in as %+v, it was %+v", back.id, p.id)
	}
	p.cookie = back.cookie
}
