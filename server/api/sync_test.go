package api

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// TestMain keeps everyday runs the same each time; -rapid.seed and -rapid.checks ask for more.
func TestMain(m *testing.M) {
	for name, value := range map[string]string{"rapid.seed": "20260302", "rapid.checks": "60"} {
		if err := flag.Set(name, value); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}

// TestSync_TwoPhones: what one phone writes offline reaches the other, both edits of one field
// are kept, and in the end phones and server hold the same.
func TestSync_TwoPhones(t *testing.T) {
	h := build(t, "")
	coach := h.owner(1)
	doc := coach.newClient("Alex Example")
	item := coach.create(doc, sessions.KindItem, "loadWorksLeftG", record.Int(8000))
	coach.sync()
	client := coach.invite(sessions.ClientOf, doc, 2)
	client.sync()

	write := func(p *phone, grams int64) {
		t.Helper()
		_, err := p.Author().Write(p.Open(doc), item, sessions.KindItem, "loadWorksLeftG",
			record.Int(grams), h.read().UnixMilli())
		if err != nil {
			t.Fatal(err)
		}
	}
	write(coach, 12000)
	h.wait(time.Second)
	write(client, 10000)
	set := client.create(doc, sessions.KindSet, "reps", record.Int(5))
	client.sync()
	coach.sync()
	client.sync()

	kept, err := h.store.Document(t.Context(), doc)
	if err != nil {
		t.Fatal(err)
	}
	for name, p := range map[string]*phone{"coach": coach, "client": client} {
		d, _ := p.Doc(doc)
		if d.Digest() != kept.Digest() {
			t.Errorf("the %s's phone differs from the server", name)
		}
		conflicts := d.Conflicts()
		if len(conflicts) != 1 || conflicts[0].Field != "loadWorksLeftG" {
			t.Errorf("the %s sees conflicts %v", name, conflicts)
		}
		if _, found := d.Record(set); !found {
			t.Errorf("the %s's phone lacks the set", name)
		}
	}
}

// TestSync_LostAnswers: a network that loses half of all answers loses and doubles nothing.
func TestSync_LostAnswers(t *testing.T) {
	h := build(t, "")
	p := h.owner(1)
	doc := p.newClient("Alex Example")
	dice := rand.New(rand.NewPCG(7, 8))
	for range 40 {
		p.create(doc, sessions.KindSet, "reps", record.Int(dice.Int64N(20)))
		readMS := h.read().UnixMilli()
		resp, a := p.send(p.Request(readMS, limits))
		if a.status != http.StatusOK {
			t.Fatalf("%d %s", a.status, a.body)
		}
		if dice.IntN(2) == 0 {
			continue
		}
		if out, err := p.Handle(resp, readMS); err != nil || out.Problem != "" || out.IsForked {
			t.Fatal(out, err)
		}
	}
	p.sync()
	kept, err := h.store.Document(t.Context(), doc)
	if err != nil {
		t.Fatal(err)
	}
	own, _ := p.Doc(doc)
	if kept.Len() != 41 || kept.Digest() != own.Digest() || len(p.Refused()) != 0 {
		t.Errorf("the server has %d operations, want 41; refused %v", kept.Len(), p.Refused())
	}
}

// TestSync_EarlierEpoch: cursors of an earlier life of the file mean nothing now and are not
// used; the phone starts afresh.
func TestSync_EarlierEpoch(t *testing.T) {
	h := build(t, "")
	p := h.owner(1)
	doc := p.newClient("Alex Example")
	p.sync()
	other := p.invite(sessions.Coach, record.ID{}, 2)
	other.sync()
	stale := other.Request(h.read().UnixMilli(), limits)
	stale.IsTaught, stale.IsBrief = false, false // epoch and chain in full
	stale.Epoch++
	stale.Seen = 1 << 40
	other.create(doc, sessions.KindSet, "reps", record.Int(5))
	stale.Push = other.Request(h.read().UnixMilli(), limits).Push
	resp, _ := other.send(stale)
	if len(resp.Changed) != 0 || len(resp.Pages) != 0 || resp.Epoch == stale.Epoch ||
		len(stale.Push) != 1 || resp.Have != 0 {
		t.Errorf("a request to another epoch was taken: %+v", resp)
	}
	stale.Epoch, stale.Seen, stale.Push = resp.Epoch, 0, nil
	resp, _ = other.send(stale)
	if len(resp.Changed) != 2 {
		t.Errorf("afresh: %+v", resp.Changed)
	}
}

// TestProblem_Statuses: "HTTP Semantics", RFC 9110, 2022, section 15, and for 423 and 507 "HTTP
// Extensions for WebDAV", RFC 4918, 2007, section 11. What is not listed is the server's fault
// and its text stays inside.
func TestProblem_Statuses(t *testing.T) {
	h := build(t, "")
	tests := []struct {
		err          error
		status       int
		code, retryS string
	}{
		{store.ErrFull, 507, "full", "60"},
		{store.ErrBusy, 503, "busy", "5"},
		{store.ErrLimit, 429, "too_many", "3600"},
		{store.ErrLocked, 423, "locked", ""},
		{errors.New("INSIDE"), 500, "trouble", ""},
	}
	for _, tt := range tests {
		w := httptest.NewRecorder()
		r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/api/sync", nil)
		h.server.answerProblem(w, r, fmt.Errorf("push: %w", tt.err))
		a := answer{w.Code, w.Header(), w.Body.Bytes()}
		if a.status != tt.status || a.code(t) != tt.code || a.header.Get("Retry-After") != tt.retryS ||
			strings.Contains(string(a.body), "INSIDE") {
			t.Errorf("%v: %d %q %s", tt.err, a.status, a.header.Get("Retry-After"), a.body)
		}
	}
	seen := map[string]bool{}
	for _, p := range problems {
		if p.title == "" || p.detail == "" || p.status < 400 || p.code == "" {
			t.Errorf("%v is not fully described", p.err)
		}
		if seen[p.code] && p.code != "forbidden" && p.code != wire.CodeBusy {
			t.Errorf("two problems have the code %s", p.code)
		}
		seen[p.code] = true
	}
}

// TestSync_News: after a push the open phones of those who may read it hear of it, and nobody
// else does.
func TestSync_News(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	docs := []record.ID{owner.newClient("Alex Example"), owner.newClient("Kim Example")}
	owner.sync()
	clients := []*phone{owner.invite(sessions.ClientOf, docs[0], 2),
		owner.invite(sessions.ClientOf, docs[1], 3)}
	coach := owner.invite(sessions.Coach, record.ID{}, 4)
	listeners := map[string]*websocket.Conn{}
	for name, p := range map[string]*phone{"owner": owner, "first": clients[0],
		"second": clients[1], "coach": coach} {
		listeners[name] = p.listen()
	}
	clients[0].sync()
	clients[0].create(docs[0], sessions.KindSet, "reps", record.Int(5))
	clients[0].sync()
	for name, want := range map[string]bool{"owner": true, "coach": true, "first": false,
		"second": false} {
		if err := listeners[name].SetReadDeadline(time.Now().Add(500 * time.Millisecond)); err != nil {
			t.Fatal(err)
		}
		_, message, err := listeners[name].ReadMessage()
		if got := err == nil && string(message) == `{"news":true}`; got != want {
			t.Errorf("%s heard %q (%v), want news %v", name, message, err, want)
		}
	}
	if a := h.post("/api/forget", object{}, "Authorization", coach.bearer()); a.status != 204 {
		t.Fatal(a.status)
	}
	if err := listeners["coach"].SetReadDeadline(time.Now().Add(2 * time.Second)); err != nil {
		t.Fatal(err)
	}
	if _, _, err := listeners["coach"].ReadMessage(); !websocket.IsCloseError(err,
		websocket.ClosePolicyViolation) {
		t.Errorf("after signing off: %v, want 1008", err)
	}
}

func (p *phone) listen() *websocket.Conn {
	p.h.t.Helper()
	ticket := p.h.post("/api/ticket", object{}, "Authorization", p.bearer()).json(p.h.t)["ticket"]
	conn, _, err := websocket.DefaultDialer.Dial(
		"ws"+strings.TrimPrefix(p.h.url, "http")+"/api/live", nil)
	if err != nil {
		p.h.t.Fatal(err)
	}
	p.h.t.Cleanup(func() { _ = conn.Close() }) // the server may have closed it
	if err := conn.WriteMessage(websocket.TextMessage, []byte(ticket.(string))); err != nil {
		p.h.t.Fatal(err)
	}
	// The first word comes with each line, for what was new before.
	if _, message, err := conn.ReadMessage(); err != nil || string(message) != `{"news":true}` {
		p.h.t.Fatalf("first word: %q, %v", message, err)
	}
	return conn
}

func waitFor(t *testing.T, is func() bool) {
	t.Helper()
	for range 400 {
		if is() {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatal("never happened")
}

// TestSync_TokenRunsOut: a token that is over is asked to be renewed; the queue is untouched.
func TestSync_TokenRunsOut(t *testing.T) {
	h := build(t, "")
	p := h.owner(1)
	p.newClient("Alex Example")
	h.wait(17 * time.Minute)
	if _, a := p.send(p.Request(h.read().UnixMilli(), limits)); a.status != 401 {
		t.Errorf("an old token: %d", a.status)
	}
	h.wait(14 * 24 * time.Hour) // two weeks offline
	p.renew()
	p.sync()
	if p.Unsent() != 0 {
		t.Errorf("%d operations are unsent", p.Unsent())
	}
}

// TestSync_Reserve: when only the disk's reserve is left pushes are refused, and signing in and
// reading go on; with room again the push goes through.
func TestSync_Reserve(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	doc := owner.newClient("Alex Example")
	owner.sync()
	h.isFull.Store(true)
	owner.create(doc, sessions.KindSession, "painPlace", record.Text("left"))
	_, a := owner.send(owner.Request(h.read().UnixMilli(), limits))
	if a.status != http.StatusInsufficientStorage || a.header.Get("Retry-After") == "" ||
		a.code(t) != wire.CodeFull {
		t.Errorf("a push: %d %s", a.status, a.body)
	}
	if a := h.ask(http.MethodGet, "/readyz", nil); a.status != http.StatusInsufficientStorage {
		t.Errorf("readyz: %d", a.status)
	}
	owner.renew()
	asked := exchange.NewPhone(exchange.State{Device: 1}, nil).Request(h.read().UnixMilli(), limits)
	if resp, a := owner.send(asked); a.status != http.StatusOK || resp.Problem != "" {
		t.Errorf("reading: %d %s", a.status, resp.Problem)
	}
	h.isFull.Store(false)
	owner.sync()
	if owner.Unsent() != 0 {
		t.Error("with room again it is not taken in")
	}
}

// fading is a context that ends when it is looked at for the n-th time.
type fading struct {
	context.Context
	end  context.CancelFunc
	left atomic.Int64
}

func (f *fading) look() {
	if f.left.Add(-1) == 0 {
		f.end()
	}
}

func (f *fading) Done() <-chan struct{} {
	f.look()
	return f.Context.Done()
}

func (f *fading) Err() error {
	f.look()
	return f.Context.Err()
}

// TestSync_GivenUp: a push whose phone hangs up, at any moment at which the server could notice,
// is taken in whole or not at all. SQLite may roll a whole transaction back when a statement is
// interrupted ("Interrupt A Long-Running Query", SQLite documentation), so that no request's end
// may reach a write.
func TestSync_GivenUp(t *testing.T) {
	h := build(t, "")
	p := h.owner(1)
	doc := p.newClient("Alex Example")
	p.sync()
	taken, missed := 0, 0
	for moment := range int64(80) {
		for range 5 {
			p.create(doc, sessions.KindSet, "reps", record.Int(moment))
		}
		q := p.Request(h.read().UnixMilli(), limits)
		f := &fading{}
		f.Context, f.end = context.WithCancel(t.Context())
		f.left.Store(moment)
		r := httptest.NewRequestWithContext(f, http.MethodPost, "/api/sync",
			bytes.NewReader(q.Append(nil)))
		r.Header.Set("Content-Type", typeSync)
		r.Header.Set("Authorization", p.bearer())
		h.server.Handler().ServeHTTP(httptest.NewRecorder(), r)
		f.end()
		d, err := h.store.Document(t.Context(), doc)
		if err != nil {
			t.Fatal(err)
		}
		switch own, _ := p.Doc(doc); own.Len() - d.Len() {
		case 0:
			taken++
		case 5:
			missed++
		default:
			t.Errorf("moment %d: %d operations of five are missing", moment, own.Len()-d.Len())
		}
		p.sync()
	}
	if taken == 0 || missed == 0 {
		t.Errorf("%d taken in, %d not: the moments were too much alike", taken, missed)
	}
	t.Logf("%d taken in, %d not", taken, missed)
}

// TestSync_EmptyAfterDays: each answer says after how many days away phones are to be emptied;
// where the practice does not want that it says nothing, as a server that does not know of it.
func TestSync_EmptyAfterDays(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	for days, want := range map[int][]string{0: nil, 30: {"30"}} {
		h.server.EmptyAfterDays = days
		_, a := owner.send(owner.Request(h.read().UnixMilli(), limits))
		if got := a.header.Values("Evenhold-Empty-After-Days"); !slices.Equal(got, want) {
			t.Errorf("%d days: the header is %q", days, got)
		}
	}
}
