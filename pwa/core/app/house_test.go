package app_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"evenhold/server/access"
	"evenhold/server/api"
	"evenhold/server/live"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// house is the real server with its file, without a network: phones call its handler. Its clock
// follows the latest phone.
type house struct {
	t      testing.TB
	store  *store.Store
	server *api.Server
	nowMS  int64
	drawn  uint64
}

func newHouse(t testing.TB) *house {
	t.Helper()
	folder := t.TempDir()
	h := &house{t: t, nowMS: startMS}
	var err error
	if h.store, err = store.Open(filepath.Join(folder, "practice.db")); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := h.store.Close(); err != nil {
			t.Error(err)
		}
	})
	key, err := access.OpenKey(filepath.Join(folder, "key"))
	if err != nil {
		t.Fatal(err)
	}
	origins, err := api.NewOrigins("https://practice.example", "")
	if err != nil {
		t.Fatal(err)
	}
	h.server, err = api.New(api.Config{
		Store: h.store, Key: key, Hub: live.NewHub(), Origins: origins,
		Now:     func() time.Time { return time.UnixMilli(h.nowMS) },
		App:     fstest.MapFS{"index.html": {Data: []byte("<!doctype html><title>page</title>")}},
		Log:     slog.New(slog.NewTextHandler(io.Discard, nil)),
		Claimed: func() {}, Closing: make(chan struct{}),
	})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func (h *house) meet(wallMS int64) { h.nowMS = max(h.nowMS, wallMS) }

// draw gives each command of each phone a number of its own.
func (h *house) draw() uint64 {
	h.drawn++
	return 0x1000_0000_0000_0000 + h.drawn*0x9e37_79b9
}

// post is one request to the handler.
func (h *house) post(path, media string, body []byte, header ...string) *http.Response {
	r := httptest.NewRequest(http.MethodPost, "https://practice.example"+path, bytes.NewReader(body))
	r.Header.Set("Content-Type", media)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	h.server.Handler().ServeHTTP(w, r)
	return w.Result()
}

// asked carries a question of the core to the server; status 0 without a network.
func (p *phone) asked(path string, body any, auth bool) (status int, reply any) {
	p.t.Helper()
	if p.house == nil {
		return 0, nil
	}
	text, err := json.Marshal(body)
	if err != nil {
		p.t.Fatal(err)
	}
	header := []string{"Cookie", p.cookie}
	if auth {
		if !p.signIn() {
			return http.StatusUnauthorized, object{"code": "signin"}
		}
		header = append(header, "Authorization", "Bearer "+p.token)
	}
	response := p.house.post(path, "application/json", text, header...)
	p.keepCookie(response)
	if response.StatusCode == http.StatusNoContent {
		return response.StatusCode, nil
	}
	if err := json.NewDecoder(response.Body).Decode(&reply); err != nil {
		p.t.Fatal(err)
	}
	return response.StatusCode, reply
}

func (p *phone) keepCookie(response *http.Response) {
	for _, c := range response.Cookies() {
		if c.Name+"="+c.Value != p.cookie {
			p.cookie, p.token = c.Name+"="+c.Value, ""
		}
	}
}

// signIn fetches a fresh access token.
func (p *phone) signIn() bool {
	response := p.house.post("/api/token", "application/json", []byte("{}"), "Cookie", p.cookie)
	if response.StatusCode != http.StatusOK {
		return false
	}
	p.keepCookie(response)
	var body struct{ Access string }
	if err := json.NewDecoder(response.Body).Decode(&body); err != nil {
		p.t.Fatal(err)
	}
	p.token = body.Access
	return true
}

// exchange sends and fetches until there is no more to do.
func (p *phone) exchange() {
	p.t.Helper()
	for range 30 {
		if !p.round() {
			return
		}
	}
	p.t.Fatal("the exchange never ends")
}

// round is one request and its answer; it reports whether there is more.
func (p *phone) round() bool {
	p.t.Helper()
	asking := p.send("sync.request", object{})
	if asking.Request == nil {
		p.t.Fatalf("nothing to send: %v", asking.Error)
	}
	body, told := p.carry(asking.blobs[*asking.Request])
	return p.send("sync.response", told, body).Sync
}

// carry takes a request to the server and brings the answer back, with what its headers tell.
func (p *phone) carry(request []byte) (body []byte, told object) {
	p.t.Helper()
	if !p.signIn() {
		p.t.Fatal("not signed in")
	}
	const media = "application/vnd.evenhold.sync"
	response := p.house.post("/api/sync", media, request, "Authorization", "Bearer "+p.token)
	body, err := io.ReadAll(response.Body)
	if err != nil || response.StatusCode != http.StatusOK {
		p.t.Fatalf("sync: %d %s %v", response.StatusCode, body, err)
	}
	number := func(name string) int64 { // none is 0
		n, _ := strconv.ParseInt(response.Header.Get(name), 10, 64)
		return n
	}
	return body, object{"role": response.Header.Get("Evenhold-Role"),
		"days": number("Evenhold-Empty-After-Days"), "knocks": number("Evenhold-Knocks")}
}

// owner claims the practice with a new phone.
func (h *house) owner() *phone {
	h.t.Helper()
	code, isNew, err := h.server.Desk().SetUp(h.t.Context())
	if err != nil || !isNew {
		h.t.Fatal(isNew, err)
	}
	p := newPhone(h.t)
	p.house = h
	p.do("join.code", object{"code": code.String()})
	p.act("join.do", "practice", "Example Yard", "name", "Robin Example")
	p.exchange()
	return p
}

// join takes the invitation on the screen up, with the owner's tap where one is needed.
func (p *phone) join(values ...string) {
	p.t.Helper()
	p.act("join.do", values...)
	if p.later == "" {
		return
	}
	p.says("wait.finding", "wait.lead")
	p.house.letIn()
	p.doLater()
}

// letIn has the owner let everybody in who waits.
func (h *house) letIn() {
	h.t.Helper()
	staff, err := h.store.Staff(h.t.Context())
	for _, p := range staff {
		waiting, failed := h.store.Knocks(h.t.Context(), p.Person, h.nowMS)
		err = errors.Join(err, failed)
		for _, k := range waiting {
			err = errors.Join(err, h.store.AnswerKnock(store.Member{Person: p.Person}, k.Handle, true,
				h.nowMS))
		}
	}
	if err != nil {
		h.t.Fatal(err)
	}
}

// guest lets a new phone in by a code.
func (h *house) guest(code, name string) *phone {
	h.t.Helper()
	p := newPhone(h.t)
	p.house = h
	p.wallMS = h.nowMS
	p.do("join.code", object{"code": code})
	if name == "" {
		p.join()
	} else {
		p.join("name", name)
	}
	p.exchange()
	return p
}

// offline takes the network away until the returned func gives it back.
func (p *phone) offline() (online func()) {
	h := p.house
	p.house = nil
	return func() {
		p.house = h
		h.meet(p.wallMS)
	}
}

// docOf is the part of a route that names the record.
func docOf(t testing.TB, route string) string {
	t.Helper()
	split := strings.Split(route, "/")
	if len(split) < 3 || split[1] != "p" {
		t.Fatalf("%s is not about a person", route)
	}
	return split[2]
}

// document is what the server holds of a record.
func (h *house) document(name string) *record.Doc {
	h.t.Helper()
	id, err := record.ParseID(name)
	if err != nil {
		h.t.Fatal(err)
	}
	d, err := h.store.Document(h.t.Context(), id)
	if err != nil {
		h.t.Fatal(err)
	}
	return d
}
