package api

import (
	"bufio"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// overload sends ten times what the server works on at once, on a disk that stands still until
// release is called. It returns when all that are turned away have been.
func (h *house) overload(phones []*phone) (release func(), answers <-chan answer) {
	h.t.Helper()
	stuck, still := make(chan struct{}), atomic.Int64{}
	h.slow = func() {
		if still.Add(1) <= atOnce {
			<-stuck
		}
	}
	const load = 10 * atOnce
	got := make(chan answer, load)
	var turnedAway, all sync.WaitGroup
	turnedAway.Add(load - atOnce)
	for i := range load {
		p := phones[i%len(phones)]
		q := p.Request(h.read().UnixMilli(), limits)
		all.Go(func() {
			_, a := p.send(q)
			if a.status != http.StatusOK {
				turnedAway.Done()
			}
			got <- a
		})
	}
	turnedAway.Wait()
	return func() {
		close(stuck)
		all.Wait()
		close(got)
	}, got
}

// TestTurns_Overload: with ten times too many pushes on a disk that stands still, those for whom
// there is no place are told at once when to come back, the server says that it is well, and in
// the end nothing that any phone wrote is missing.
func TestTurns_Overload(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	doc := owner.newClient("Alex Example")
	owner.sync()
	phones := []*phone{owner}
	for device := clock.Device(2); device < 6; device++ {
		phones = append(phones, owner.invite(sessions.Coach, record.ID{}, device))
	}
	for _, p := range phones {
		p.sync()
		p.create(doc, sessions.KindSet, "reps", record.Int(5))
	}
	release, answers := h.overload(phones)
	for _, path := range []string{"/livez", "/readyz"} {
		if a := h.ask(http.MethodGet, path, nil); a.status != http.StatusOK {
			t.Errorf("under load %s says %d", path, a.status)
		}
	}
	if a := h.post("/api/token", object{}, "Cookie", owner.cookie); a.status != 503 {
		t.Errorf("another request is taken in: %d", a.status)
	}
	release()
	count := map[int]int{}
	for a := range answers {
		count[a.status]++
		if a.status == http.StatusOK {
			continue
		}
		wait, err := strconv.Atoi(a.header.Get("Retry-After"))
		if err != nil || wait < 1 || a.code(t) != "busy" ||
			a.header.Get("Content-Type") != "application/problem+json" {
			t.Fatalf("turned away with %d %v %s", a.status, a.header, a.body)
		}
	}
	if count[http.StatusOK] != atOnce || count[http.StatusServiceUnavailable] != 9*atOnce {
		t.Errorf("answers by status: %v, want %d and %d", count, atOnce, 9*atOnce)
	}
	if n := h.server.turns.shed.Load(); n != 9*atOnce+1 {
		t.Errorf("%d are counted as turned away", n)
	}
	for _, p := range phones {
		p.sync()
	}
	kept, err := h.store.Document(t.Context(), doc)
	if err != nil || kept.Len() != 1+len(phones) {
		t.Errorf("the server keeps %d operations (%v), want %d", kept.Len(), err, 1+len(phones))
	}
}

// TestTurns_AreGivenBack: a refusal, a broken request and a crash all give their place back.
func TestTurns_AreGivenBack(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	for range atOnce + 1 {
		if a := h.post("/api/join", object{"code": "nonsense"}); a.status == 503 {
			t.Fatal("refusals use the places up")
		}
	}
	crash := func(http.ResponseWriter, *http.Request, store.Member) error { panic("a crash") }
	handler := h.server.recovered(h.server.serve(route{method: http.MethodPost, handle: crash}))
	for range atOnce + 1 {
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/", nil))
		if w.Code != http.StatusInternalServerError {
			t.Fatalf("a crash is answered with %d", w.Code)
		}
	}
	if n := len(h.server.turns.places); n != 0 {
		t.Errorf("%d places stay taken", n)
	}
	owner.sync()
}

// TestTurns_SlowLines: phones that send their body slowly, or take their answer slowly, hold no
// place.
func TestTurns_SlowLines(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	for range 2 * atOnce {
		h.sendSlowly(owner)
	}
	owner.create(owner.newClient("Alex Example"), sessions.KindSet, "reps", record.Int(5))
	owner.sync()
	if n := h.server.turns.shed.Load(); n != 0 {
		t.Errorf("%d requests were turned away", n)
	}
	w := &slowTaker{ResponseRecorder: httptest.NewRecorder(), turns: &h.server.turns}
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/api/people",
		strings.NewReader("{}"))
	r.Header.Set("Content-Type", typeJSON)
	r.Header.Set("Authorization", owner.bearer())
	h.server.Handler().ServeHTTP(w, r)
	if w.Code != http.StatusOK || w.taken != 0 {
		t.Errorf("%d; %d places are held while the answer is taken", w.Code, w.taken)
	}
}

// sendSlowly begins a request of p and returns when the server waits for the rest of its body,
// which never comes: it asks for a body that was announced (RFC 9110, June 2022, section 10.1.1).
func (h *house) sendSlowly(p *phone) {
	h.t.Helper()
	conn, err := net.Dial("tcp", strings.TrimPrefix(h.url, "http://"))
	if err != nil {
		h.t.Fatal(err)
	}
	h.t.Cleanup(func() { _ = conn.Close() }) // the server may have closed it
	_, err = fmt.Fprintf(conn, "POST /api/sync HTTP/1.1\r\nHost: practice.example\r\n"+
		"Authorization: %s\r\nContent-Type: %s\r\nContent-Length: 1000\r\n"+
		"Expect: 100-continue\r\n\r\n", p.bearer(), typeSync)
	if err != nil {
		h.t.Fatal(err)
	}
	if err := conn.SetReadDeadline(time.Now().Add(45 * time.Second)); err != nil {
		h.t.Fatal(err)
	}
	line, err := bufio.NewReader(conn).ReadString('\n')
	if err != nil || !strings.Contains(line, " 100 ") {
		h.t.Fatalf("the server does not wait for a body: %q, %v", line, err)
	}
}

// slowTaker notes how many places are taken while it takes an answer.
type slowTaker struct {
	*httptest.ResponseRecorder
	turns *turns
	taken int
}

func (w *slowTaker) Write(b []byte) (int, error) {
	w.taken = max(w.taken, len(w.turns.places))
	return w.ResponseRecorder.Write(b)
}
