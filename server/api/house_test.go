package api

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/live"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

const public = "https://practice.example"

// house is a whole server on loopback with a clock that stands until it is moved.
type house struct {
	t       testing.TB
	store   *store.Store
	server  *Server
	hub     *live.Hub
	url     string
	log     *lines
	closing chan struct{}
	claimed int
	isFull  atomic.Bool // the disk has only its reserve left
	slow    func()      // called where the disk is looked at; nil for a quick one

	mu  sync.Mutex
	now time.Time
}

// lines collects the log.
type lines struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lines) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(b)
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func (h *house) read() time.Time {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.now
}

func (h *house) room() error {
	if h.slow != nil {
		h.slow()
	}
	if h.isFull.Load() {
		return store.ErrFull
	}
	return nil
}

func (h *house) wait(d time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.now = h.now.Add(d)
}

// bare is a house without a network. Its caller closes the store.
func bare(t testing.TB, origins string) *house {
	t.Helper()
	folder := t.TempDir()
	h := &house{t: t, hub: live.NewHub(), log: &lines{}, closing: make(chan struct{}),
		now: time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)}
	var err error
	if h.store, err = store.Open(filepath.Join(folder, "practice.db")); err != nil {
		t.Fatal(err)
	}
	key, err := access.OpenKey(filepath.Join(folder, "key"))
	if err != nil {
		t.Fatal(err)
	}
	o, err := NewOrigins(public, origins)
	if err != nil {
		t.Fatal(err)
	}
	h.server, err = New(Config{
		Store: h.store, Key: key, Hub: h.hub, Now: h.read, Origins: o, App: files(),
		Log:     slog.New(slog.NewTextHandler(h.log, &slog.HandlerOptions{Level: slog.LevelDebug})),
		Claimed: func() { h.claimed++ }, Closing: h.closing, Room: h.room,
	})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func build(t testing.TB, origins string) *house {
	t.Helper()
	h := bare(t, origins)
	loopback := httptest.NewServer(h.server.Handler())
	h.url = loopback.URL
	t.Cleanup(func() {
		h.hub.Close()
		loopback.Close()
		if err := h.store.Close(); err != nil {
			t.Error(err)
		}
	})
	return h
}

func files() fstest.MapFS {
	return fstest.MapFS{
		"index.html":                {Data: []byte("<!doctype html><title>page</title>")},
		"index.html.br":             {Data: []byte("page in brotli")},
		"index.html.gz":             {Data: []byte("page in gzip")},
		"sw.js":                     {Data: []byte("self.x = 1")},
		"manifest.webmanifest":      {Data: []byte("{}")},
		"assets/core-1a2b3c4d.wasm": {Data: []byte("\x00asm")},
		"assets/page-9f8e7d6c.js":   {Data: []byte("let x = 1")},
	}
}

// answer is what came back.
type answer struct {
	status int
	header http.Header
	body   []byte
}

func (a answer) json(t testing.TB) map[string]any {
	t.Helper()
	var v map[string]any
	if err := json.Unmarshal(a.body, &v); err != nil {
		t.Fatalf("status %d, %q: %v", a.status, a.body, err)
	}
	return v
}

func (a answer) code(t testing.TB) string {
	t.Helper()
	code, _ := a.json(t)["code"].(string)
	return code
}

// ask sends a request with headers given as name, value, name, value.
func (h *house) ask(method, path string, body []byte, header ...string) answer {
	h.t.Helper()
	r, err := http.NewRequest(method, h.url+path, bytes.NewReader(body))
	if err != nil {
		h.t.Fatal(err)
	}
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	// No transparent decompression: what is served is looked at as it is.
	client := http.Client{Transport: &http.Transport{
		DisableCompression: true, DisableKeepAlives: true,
	}}
	resp, err := client.Do(r)
	if err != nil {
		h.t.Fatal(err)
	}
	defer resp.Body.Close()
	got, err := io.ReadAll(resp.Body)
	if err != nil {
		h.t.Fatal(err)
	}
	return answer{resp.StatusCode, resp.Header, got}
}

func (h *house) post(path string, v any, header ...string) answer {
	h.t.Helper()
	body, err := json.Marshal(v)
	if err != nil {
		h.t.Fatal(err)
	}
	return h.ask(http.MethodPost, path, body, append(header, "Content-Type", typeJSON)...)
}

// phone is one install: its cookie, its token and its end of the conversation.
type phone struct {
	h      *house
	cookie string
	access string
	id     identity
	*exchange.Phone
}

type object map[string]any

// join lets a new phone in by a code, and by the owner's tap where one is needed.
func (h *house) join(code string, device clock.Device) *phone {
	h.t.Helper()
	asked := object{"code": code, "device": device.String(), "name": "Robin Example",
		"practice": "Example Practice"}
	a := h.post("/api/join", asked)
	if a.status == http.StatusAccepted {
		h.letIn()
		a = h.post("/api/join", asked)
	}
	if a.status != http.StatusOK {
		h.t.Fatalf("join: %d %s", a.status, a.body)
	}
	return h.phone(a, device)
}

// letIn has the owner let everybody in who waits.
func (h *house) letIn() {
	h.t.Helper()
	staff, err := h.store.Staff(h.t.Context())
	if err != nil {
		h.t.Fatal(err)
	}
	for _, p := range staff {
		if p.Role != sessions.Owner {
			continue
		}
		owner, nowMS := store.Member{Person: p.Person}, h.read().UnixMilli()
		waiting, err := h.store.Knocks(h.t.Context(), p.Person, nowMS)
		for _, k := range waiting {
			err = errors.Join(err, h.store.AnswerKnock(owner, k.Handle, true, nowMS))
		}
		if err != nil {
			h.t.Fatal(err)
		}
	}
}

func (h *house) phone(joined answer, device clock.Device) *phone {
	h.t.Helper()
	p := &phone{h: h, Phone: exchange.NewPhone(exchange.State{Device: device}, nil)}
	p.cookie, _, _ = strings.Cut(joined.header.Get("Set-Cookie"), ";")
	if err := json.Unmarshal(joined.body, &p.id); err != nil {
		h.t.Fatal(err)
	}
	p.renew()
	return p
}

func (p *phone) renew() {
	p.h.t.Helper()
	a := p.h.post("/api/token", object{}, "Cookie", p.cookie)
	if a.status != http.StatusOK {
		p.h.t.Fatalf("token: %d %s", a.status, a.body)
	}
	p.take(a)
}

// take keeps the token, and the next secret as a browser would.
func (p *phone) take(a answer) {
	p.h.t.Helper()
	p.access = a.json(p.h.t)["access"].(string)
	p.cookie, _, _ = strings.Cut(a.header.Get("Set-Cookie"), ";")
}

func (p *phone) bearer() string { return "Bearer " + p.access }

// owner claims the practice.
func (h *house) owner(device clock.Device) *phone {
	h.t.Helper()
	code, isNew, err := h.server.Desk().SetUp(h.t.Context())
	if err != nil || !isNew {
		h.t.Fatal(isNew, err)
	}
	return h.join(code.String(), device)
}

// invite has p invite somebody and lets them in.
func (p *phone) invite(role sessions.Role, doc record.ID, device clock.Device) *phone {
	p.h.t.Helper()
	asked := object{"role": role, "name": "Kim Example"}
	if !doc.IsZero() {
		asked["doc"] = doc.String()
	}
	a := p.h.post("/api/invitations", asked, "Authorization", p.bearer())
	if a.status != http.StatusOK {
		p.h.t.Fatalf("invite: %d %s", a.status, a.body)
	}
	return p.h.join(a.json(p.h.t)["code"].(string), device)
}

// send makes one exchange without looking at the answer's meaning.
func (p *phone) send(q wire.Request) (wire.Response, answer) {
	p.h.t.Helper()
	a := p.h.ask(http.MethodPost, "/api/sync", q.Append(nil), "Content-Type", typeSync,
		"Authorization", p.bearer())
	if a.status != http.StatusOK {
		return wire.Response{}, a
	}
	resp, err := wire.ParseAnswer(a.body, q)
	if err != nil {
		p.h.t.Fatal(err)
	}
	return resp, a
}

// sync goes on until there is nothing more to send or fetch.
func (p *phone) sync() {
	p.h.t.Helper()
	for range 50 {
		readMS := p.h.read().UnixMilli()
		q := p.Request(readMS, limits)
		resp, a := p.send(q)
		if a.status != http.StatusOK {
			p.h.t.Fatalf("sync: %d %s", a.status, a.body)
		}
		out, err := p.Handle(resp, readMS)
		if err != nil || out.Problem != "" {
			p.h.t.Fatalf("sync: %v, problem %q", err, out.Problem)
		}
		if !out.IsMore && p.Unsent() == 0 {
			return
		}
	}
	p.h.t.Fatal("sync never ends")
}

// newClient begins a client record.
func (p *phone) newClient(name string) record.ID {
	p.h.t.Helper()
	doc := p.Open(p.Author().NextID())
	p.create(doc.ID(), sessions.KindClient, "name", record.Text(name))
	return doc.ID()
}

func (p *phone) create(doc record.ID, kind, field string, v record.Value) record.ID {
	p.h.t.Helper()
	fields := []record.FieldValue{{Field: field, Value: v}}
	rec, _, err := p.Author().Create(p.Open(doc), kind, fields, p.h.read().UnixMilli())
	if err != nil {
		p.h.t.Fatal(err)
	}
	return rec
}

var limits = exchange.Limits{Push: wire.MaxPush, Pulls: wire.MaxPulls}
