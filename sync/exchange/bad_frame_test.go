package exchange_test

import (
	"errors"
	"maps"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// badFrame is one way in which a phone's frame can be wrong. The server has taken in the
// phone's operations 1 to 3; a sound frame would bring 4 to 6.
type badFrame struct {
	rule, name string // rule of SPEC.md
	body       func(d *desk, q wire.Request) []byte

	err     error  // of the decoder
	problem string // of the whole push
	refused map[uint64]string
}

// takesNothing reports whether the whole frame is to be passed over.
func (b badFrame) takesNothing() bool { return len(b.refused) == 0 }

// spoilt makes a frame of a request that was changed before it was written.
func spoilt(spoil func(q *wire.Request)) func(*desk, wire.Request) []byte {
	return func(_ *desk, q wire.Request) []byte {
		q.Push = slices.Clone(q.Push)
		spoil(&q)
		return q.Append(nil)
	}
}

// garbage is a request by its first two bytes; what follows is a number without an end.
func garbage(*desk, wire.Request) []byte {
	return append([]byte{2, 2}, slices.Repeat([]byte{0xff}, 4000)...)
}

// unread is what the decoder refuses.
var unread = []badFrame{
	{rule: "W2", name: "nothing", body: func(*desk, wire.Request) []byte { return nil },
		err: wire.ErrMalformed},
	{rule: "W2", name: "garbage", body: garbage, err: wire.ErrMalformed},
	{rule: "W2", name: "cut in half", body: func(_ *desk, q wire.Request) []byte {
		b := q.Append(nil)
		return b[:len(b)/2]
	}, err: wire.ErrMalformed},
	{rule: "W2", name: "bytes left over", body: func(_ *desk, q wire.Request) []byte {
		return append(q.Append(nil), 0, 1)
	}, err: wire.ErrMalformed},
	{rule: "W3", name: "a later version", body: func(_ *desk, q wire.Request) []byte {
		b := q.Append(nil)
		b[0] = wire.Version + 1
		return b
	}, err: wire.ErrVersion},
	{rule: "W3", name: "another type", body: func(_ *desk, q wire.Request) []byte {
		return wire.AppendOperations(nil, q.Push)
	}, err: wire.ErrType},
	{rule: "W4", name: "too many bytes", body: func(*desk, wire.Request) []byte {
		return append([]byte{2, 2}, make([]byte, wire.MaxBodyBytes)...)
	}, err: wire.ErrLimit},
	{rule: "W4", name: "too many operations", body: spoilt(func(q *wire.Request) {
		q.Push = slices.Repeat(q.Push[:1], wire.MaxPush+1)
	}), err: wire.ErrLimit},
	{rule: "W4", name: "too many pulls", body: spoilt(func(q *wire.Request) {
		q.Pulls = make([]wire.Pull, wire.MaxPulls+1)
		for i := range q.Pulls {
			q.Pulls[i].Doc = record.ID{Device: otherID, Seq: 1}
		}
	}), err: wire.ErrLimit},
}

// unjudged is what is read and then refused or passed over whole.
var unjudged = []badFrame{
	{rule: "X3", name: "repeated", body: func(d *desk, q wire.Request) []byte {
		q.PushFrom, q.Chain, q.Push = 0, [32]byte{}, d.held
		return q.Append(nil)
	}},
	{rule: "X14", name: "out of order", body: spoilt(func(q *wire.Request) {
		q.Push[0], q.Push[1] = q.Push[1], q.Push[0]
	}), problem: wire.CodeDevice},
	{rule: "X14", name: "out of order, the first left out", body: spoilt(func(q *wire.Request) {
		q.PushFrom, q.Push = 4, q.Push[1:]
	}), problem: wire.CodeGap},
	{rule: "X14", name: "forged: all of another device", body: spoilt(func(q *wire.Request) {
		q.Device = otherID
	}), problem: wire.CodeDevice},
	{rule: "X14", name: "forged: one of another device", body: spoilt(func(q *wire.Request) {
		q.Push[2].Stamp.Device = otherID
	}), problem: wire.CodeDevice},
	{rule: "X5", name: "forged: another past", body: spoilt(func(q *wire.Request) {
		q.Chain[7] ^= 1
	}), problem: wire.CodeForked},
}

// oneBad is a frame of which one operation is refused and the others are taken in.
var oneBad = []badFrame{
	{rule: "W5", name: "an operation without a field", body: spoilt(func(q *wire.Request) {
		q.Push[1].Field = ""
	}), refused: map[uint64]string{5: wire.CodeMalformed}},
	{rule: "W5", name: "a text that is too long", body: spoilt(func(q *wire.Request) {
		q.Push[1].Value = record.Text(strings.Repeat("x", record.MaxTextBytes+1))
	}), refused: map[uint64]string{5: wire.CodeTooLong}},
	{rule: "X2", name: "far future", body: spoilt(func(q *wire.Request) {
		q.Push[1].Stamp.WallMS = nowMS + clock.MaxAheadMS + 1
	}), refused: map[uint64]string{5: wire.CodeFuture}},
	{rule: "X2", name: "stamped before the one before", body: spoilt(func(q *wire.Request) {
		q.Push[1].Stamp.WallMS = 1
	}), refused: map[uint64]string{5: wire.CodeMalformed}},
}

// half returns a desk that has taken in the operations 1 to 3 and a sound request with the rest.
func half(t *testing.T) (*desk, wire.Request) {
	t.Helper()
	all := pushed(t, 6)
	d := newDesk()
	first, rest := all, all
	first.Push, rest.Push = all.Push[:3], all.Push[3:]
	d.judge(first)
	rest.PushFrom, rest.Chain = 3, d.state.Chain
	if len(d.held) != 3 || d.state.Have != 3 {
		t.Fatalf("the server holds %d", len(d.held))
	}
	return d, rest
}

// TestDesk_W5_BadFrames: each kind of bad frame gives one answer of the closed lists, changes
// nothing, and spoils neither the other operations of its frame nor the next frame.
func TestDesk_W5_BadFrames(t *testing.T) {
	for _, tt := range slices.Concat(unread, unjudged, oneBad) {
		t.Run(tt.rule+" "+tt.name, func(t *testing.T) {
			d, good := half(t)
			before := d.state
			q, err := wire.ParseRequest(tt.body(d, good))
			if !errors.Is(err, tt.err) {
				t.Fatalf("read: %v, want %v", err, tt.err)
			}
			if err == nil {
				j := d.judge(q)
				if codes := codesOf(j); j.Problem != tt.problem || !maps.Equal(codes, tt.refused) {
					t.Fatalf("problem %q, refused %v; want %q, %v", j.Problem, codes, tt.problem, tt.refused)
				}
				for _, code := range append(slices.Collect(maps.Values(tt.refused)), j.Problem) {
					if code != "" && !slices.Contains(wire.Codes(), code) {
						t.Errorf("%s is in no closed list", code)
					}
				}
			}
			if tt.takesNothing() {
				if len(d.held) != 3 || d.state.Have != before.Have || d.state.Chain != before.Chain ||
					d.state.Last != before.Last {
					t.Fatalf("something was applied: %+v", d.state)
				}
				d.judge(good)
			}
			if want := 6 - len(tt.refused); len(d.held) != want || d.state.Have != 6 {
				t.Errorf("in the end %d operations of %d, want %d of 6", len(d.held), d.state.Have, want)
			}
		})
	}
}

// TestDesk_W2_Noise: bytes without sense give an error of the closed list.
func TestDesk_W2_Noise(t *testing.T) {
	dice := rand.New(rand.NewPCG(11, 12))
	for range 500 {
		b := []byte{byte(1 + dice.IntN(2)), 2}
		for range dice.IntN(500) {
			b = append(b, byte(dice.Uint32()))
		}
		_, err := wire.ParseRequest(b)
		isListed := false
		for _, listed := range []error{wire.ErrVersion, wire.ErrType, wire.ErrMalformed,
			wire.ErrLimit} {
			isListed = isListed || errors.Is(err, listed)
		}
		if !isListed {
			t.Fatalf("%x: %v", b, err)
		}
	}
}

// TestDesk_W4_MemoryStaysFlat: a bad frame takes no more memory than the largest sound one does
// (twice, for what a runtime does beside it), and after thousands of them nothing is left behind.
func TestDesk_W4_MemoryStaysFlat(t *testing.T) {
	const frames = 1000
	largest := pushed(t, wire.MaxPush)
	_, soundBytes := spent(1, func() {
		q, err := wire.ParseRequest(largest.Append(nil))
		if j := newDesk().judge(q); err != nil || len(j.Accepted) != wire.MaxPush {
			t.Fatal(err, j.Problem)
		}
	})
	for _, tt := range slices.Concat(unread, unjudged) {
		d, good := half(t)
		body := tt.body(d, good)
		kept, each := spent(frames, func() {
			if q, err := wire.ParseRequest(body); err == nil {
				d.judge(q)
			}
		})
		if each > 2*soundBytes {
			t.Errorf("%s: %d bytes for a frame, a sound one takes %d", tt.name, each, soundBytes)
		}
		if kept > 1<<20 {
			t.Errorf("%s: %d bytes are held after %d frames", tt.name, kept, frames)
		}
	}
}

// spent runs f so many times and returns how many bytes of memory more are held in the end, and
// how many were taken each time.
func spent(times int, f func()) (kept, each int64) {
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	for range times {
		f()
	}
	taken := before.TotalAlloc
	runtime.ReadMemStats(&after)
	each = int64(after.TotalAlloc-taken) / int64(times)
	runtime.GC()
	runtime.ReadMemStats(&after)
	return int64(after.HeapAlloc) - int64(before.HeapAlloc), each
}

// TestPhone_X11_BadFrames: whatever is wrong with an answer, the phone keeps what it had and
// carries on with the next request.
func TestPhone_X11_BadFrames(t *testing.T) {
	later := func(resp wire.Response) []byte {
		b := resp.Append(nil)
		b[0] = wire.Version + 1
		return b
	}
	tests := []struct {
		rule, name string
		body       func(wire.Response) []byte
		isRead     bool
	}{
		{"W2", "garbage", func(wire.Response) []byte { return garbage(nil, wire.Request{}) }, false},
		{"W2", "cut", func(resp wire.Response) []byte { return resp.Append(nil)[:9] }, false},
		{"W3", "a later version", later, false},
		{"W3", "a request", func(wire.Response) []byte {
			return wire.Request{Device: phoneID}.Append(nil)
		}, false},
		{"W4", "too long", func(wire.Response) []byte {
			return make([]byte, wire.MaxResponseBytes+1)
		}, false},
		{"X11", "out of order", func(resp wire.Response) []byte {
			resp.Number--
			return resp.Append(nil)
		}, true},
		{"X11", "an operation of another document", func(resp wire.Response) []byte {
			resp.Pages = []wire.Page{{Doc: record.ID{Device: otherID, Seq: 1}, To: 1, Head: 1,
				Ops: pushed(t, 1).Push}}
			return resp.Append(nil)
		}, true},
	}
	for _, tt := range tests {
		t.Run(tt.rule+" "+tt.name, func(t *testing.T) {
			p, d := fresh(), newDesk()
			exchangeOnce(t, p, d)
			op := write(t, p, "set", 1, nowMS)
			resp, err := p.Read(tt.body(d.answer(ask(p))))
			if (err == nil) != tt.isRead {
				t.Fatalf("read: %v", err)
			}
			if tt.isRead {
				if _, err = p.Handle(resp, nowMS); err == nil {
					t.Fatal("taken in")
				}
			}
			held, found := p.Doc(op.Doc)
			if !found || held.Len() != 1 {
				t.Fatal("the phone lost what it had")
			}
			exchangeOnce(t, p, d)
			if p.Unsent() != 0 || len(d.held) != 1 || len(p.Docs()) != 1 || len(p.Refused()) != 0 {
				t.Errorf("unsent %d, the server holds %d", p.Unsent(), len(d.held))
			}
		})
	}
}
