package api

import (
	"bytes"
	"maps"
	"net/http"
	"net/http/httptest"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// frame is a push with one thing wrong: it is told so by a status and a code for a body that
// cannot be read, a problem for a push that is refused whole, or verdicts.
type frame struct {
	name string // begins with the rule of sync/SPEC.md
	body func(q wire.Request) []byte

	status   int
	code     string // of the body, else of the push
	verdicts map[int]string
}

func spoilt(spoil func(q *wire.Request)) func(wire.Request) []byte {
	return func(q wire.Request) []byte {
		q.Push = slices.Clone(q.Push)
		spoil(&q)
		return q.Append(nil)
	}
}

// unread and unjudged change nothing; of oneBad the second operation is refused.
var (
	unread = []frame{
		{name: "W2 nothing", body: func(wire.Request) []byte { return nil },
			status: http.StatusBadRequest, code: wire.CodeMalformed},
		{name: "W2 garbage", body: func(wire.Request) []byte {
			return append([]byte{2, 2}, bytes.Repeat([]byte{0xff}, 4000)...)
		}, status: http.StatusBadRequest, code: wire.CodeMalformed},
		{name: "W2 cut", body: func(q wire.Request) []byte {
			b := q.Append(nil)
			return b[:len(b)/2]
		}, status: http.StatusBadRequest, code: wire.CodeMalformed},
		{name: "W2 bytes left over", body: func(q wire.Request) []byte {
			return append(q.Append(nil), 0, 1)
		}, status: http.StatusBadRequest, code: wire.CodeMalformed},
		{name: "W3 another type", body: func(q wire.Request) []byte {
			return wire.AppendOperations(nil, q.Push)
		}, status: http.StatusBadRequest, code: wire.CodeMalformed},
		{name: "W4 too many bytes", body: func(wire.Request) []byte {
			return append([]byte{2, 2}, make([]byte, wire.MaxBodyBytes)...)
		}, status: http.StatusRequestEntityTooLarge, code: wire.CodeTooLong},
		{name: "W4 too many operations", body: spoilt(func(q *wire.Request) {
			q.Push = slices.Repeat(q.Push[:1], wire.MaxPush+1)
		}), status: http.StatusBadRequest, code: wire.CodeMalformed},
	}
	unjudged = []frame{
		{name: "W3 a later version", body: func(q wire.Request) []byte {
			b := q.Append(nil)
			b[0] = wire.Version + 1
			return b
		}, status: http.StatusOK, code: wire.CodeSchema},
		{name: "W3 a later schema", body: spoilt(func(q *wire.Request) { q.Schema++ }),
			status: http.StatusOK, code: wire.CodeSchema},
		{name: "X3 repeated", body: spoilt(func(q *wire.Request) { q.Push = nil }),
			status: http.StatusOK},
		{name: "X14 out of order", body: spoilt(func(q *wire.Request) {
			q.Push[0], q.Push[1] = q.Push[1], q.Push[0]
		}), status: http.StatusOK, code: wire.CodeDevice},
		{name: "X14 the first left out", body: spoilt(func(q *wire.Request) {
			q.PushFrom, q.Push = q.PushFrom+1, q.Push[1:]
		}), status: http.StatusOK, code: wire.CodeGap},
		{name: "X14 forged: all of another device", body: spoilt(func(q *wire.Request) {
			q.Device = 99
		}), status: http.StatusOK, code: wire.CodeDevice},
		{name: "X14 forged: one of another device", body: spoilt(func(q *wire.Request) {
			q.Push[2].Stamp.Device = 99
		}), status: http.StatusOK, code: wire.CodeDevice},
		{name: "X5 forged: another past", body: spoilt(func(q *wire.Request) { q.Chain[7] ^= 1 }),
			status: http.StatusOK, code: wire.CodeForked},
	}
	oneBad = []frame{
		{name: "W5 without a field", body: spoilt(func(q *wire.Request) { q.Push[1].Field = "" }),
			status: http.StatusOK, verdicts: map[int]string{1: wire.CodeMalformed}},
		{name: "W5 a text that is too long", body: spoilt(func(q *wire.Request) {
			q.Push[1].Value = record.Text(strings.Repeat("x", record.MaxTextBytes+1))
		}), status: http.StatusOK, verdicts: map[int]string{1: wire.CodeTooLong}},
		{name: "X2 far future", body: spoilt(func(q *wire.Request) {
			q.Push[1].Stamp.WallMS += clock.MaxAheadMS + 1
		}), status: http.StatusOK, verdicts: map[int]string{1: wire.CodeFuture}},
	}
)

// attacked is a practice with one client record, and a sound push of three operations.
func attacked(t *testing.T) (h *house, p *phone, doc record.ID, good wire.Request) {
	t.Helper()
	h = build(t, "")
	p = h.owner(1)
	doc = p.newClient("Alex Example")
	p.sync()
	for reps := range int64(3) {
		p.create(doc, sessions.KindSet, "reps", record.Int(reps))
	}
	good = p.Request(h.read().UnixMilli(), limits)
	good.IsTaught, good.IsBrief = false, false // epoch and chain stand in it
	if len(good.Push) != 3 {
		t.Fatalf("%d operations to push, want 3", len(good.Push))
	}
	return h, p, doc, good
}

func (p *phone) post(body []byte) answer {
	return p.h.ask(http.MethodPost, "/api/sync", body, "Content-Type", typeSync,
		"Authorization", p.bearer())
}

// TestSync_BadFrames: each kind of bad frame is told what it is by a code of a closed list,
// changes nothing, and spoils neither the rest of its frame nor the next one.
func TestSync_BadFrames(t *testing.T) {
	for _, tt := range slices.Concat(unread, unjudged, oneBad) {
		t.Run(tt.name, func(t *testing.T) {
			h, p, doc, good := attacked(t)
			before, err := h.store.Document(t.Context(), doc)
			if err != nil {
				t.Fatal(err)
			}
			a := p.post(tt.body(good))
			want := map[uint64]string{}
			for i, code := range tt.verdicts {
				want[good.Push[i].Seq] = code
			}
			if code, verdicts := told(t, a); a.status != tt.status || code != tt.code ||
				!maps.Equal(verdicts, want) {
				t.Fatalf("%d %q, verdicts %v; want %d %q, %v", a.status, code, verdicts,
					tt.status, tt.code, want)
			}
			after, err := h.store.Document(t.Context(), doc)
			if err != nil {
				t.Fatal(err)
			}
			if len(want) == 0 && after.Digest() != before.Digest() {
				t.Error("the document changed")
			}
			if len(want) > 0 { // the phone did not write this itself and would be forked
				if after.Len() != before.Len()+3-len(want) {
					t.Errorf("%d operations came, want all 3 but one", after.Len()-before.Len())
				}
				return
			}
			p.sync()
			after, err = h.store.Document(t.Context(), doc)
			if err != nil || after.Len() != before.Len()+3 {
				t.Errorf("%d operations came with the next frame, want 3 (%v)",
					after.Len()-before.Len(), err)
			}
		})
	}
}

// told reads an answer: the code of the problem, and the verdicts by number.
func told(t *testing.T, a answer) (code string, verdicts map[uint64]string) {
	t.Helper()
	if a.status != http.StatusOK {
		return a.code(t), nil
	}
	resp, err := wire.ParseResponse(a.body)
	if err != nil {
		t.Fatal(err)
	}
	verdicts = map[uint64]string{}
	for _, v := range resp.Verdicts {
		verdicts[v.Seq] = v.Code
	}
	return resp.Problem, verdicts
}

// TestSync_MemoryStaysFlat: after thousands of bad frames the server holds no more than before,
// and answers the next sound one. The log of this test is held in memory and left out.
func TestSync_MemoryStaysFlat(t *testing.T) {
	const each = 100
	h, p, doc, good := attacked(t)
	handler := h.server.Handler()
	all := slices.Concat(unread, unjudged)
	flood := func() {
		for _, f := range all {
			body := f.body(good)
			for range each {
				r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/api/sync",
					bytes.NewReader(body))
				r.Header.Set("Content-Type", typeSync)
				r.Header.Set("Authorization", p.bearer())
				w := httptest.NewRecorder()
				handler.ServeHTTP(w, r)
				if w.Code != f.status {
					t.Fatalf("%s: %d %s", f.name, w.Code, w.Body)
				}
			}
		}
	}
	flood() // what is taken once, such as the database's pages, is there now
	before := held(h)
	flood()
	if kept := held(h) - before; kept > 4<<20 {
		t.Errorf("%d bytes more are held after %d bad frames", kept, each*len(all))
	}
	h.wait(time.Second)
	p.sync()
	d, err := h.store.Document(t.Context(), doc)
	if err != nil || d.Len() != 4 {
		t.Errorf("%d operations, want the name and 3 sets (%v)", d.Len(), err)
	}
}

// held returns the bytes of memory in use, the log emptied.
func held(h *house) int64 {
	h.log.mu.Lock()
	h.log.b = bytes.Buffer{}
	h.log.mu.Unlock()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}
