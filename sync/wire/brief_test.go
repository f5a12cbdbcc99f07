package wire_test

import (
	"errors"
	"reflect"
	"slices"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"

	"pgregory.net/rapid"
)

// brief makes q one of version 3; half of them tell epoch and chain by a proof.
func brief(q wire.Request, isBrief bool) wire.Request {
	q.IsTaught, q.IsBrief = true, isBrief
	if isBrief {
		q.Proof = wire.ProofOf(q.Device, q.Epoch, q.PushFrom, q.Chain)
	}
	return q
}

// arrived is what q is on the server: what only a proof tells is not there.
func arrived(q wire.Request) wire.Request {
	if q.IsBrief {
		q.Epoch, q.Chain = 0, [32]byte{}
	}
	return q
}

// told is what p is on the phone: digests are cut, and a chain value that both know is left out.
func told(p wire.Response) wire.Response {
	p.IsBrief = true
	if p.IsKnown {
		p.HaveChain = [32]byte{}
	}
	p.Changed = slices.Clone(p.Changed)
	for i := range p.Changed {
		clear(p.Changed[i].Digest[8:])
	}
	return p
}

// drawAnswer draws an answer that fits q: told in full, or known to the request.
func drawAnswer(t *rapid.T, q wire.Request) wire.Response {
	p := drawResponse(t)
	p.Number = q.Number
	if p.IsKnown = rapid.Bool().Draw(t, "known"); p.IsKnown {
		p.Epoch, p.Have, p.HaveChain = q.Epoch, q.PushFrom, q.Chain
		if rapid.Bool().Draw(t, "pushed") {
			p.Have += uint64(len(q.Push))
		}
	}
	return p
}

func TestBrief_W1_RoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := brief(drawRequest(t), rapid.Bool().Draw(t, "brief"))
		back, err := wire.ParseRequest(q.Append([]byte("before"))[len("before"):])
		if want := arrived(q); err != nil || !reflect.DeepEqual(want, back) {
			t.Fatalf("%v: %+v came back as %+v", err, want, back)
		}
		p := drawAnswer(t, q)
		got, err := wire.ParseAnswer(p.AppendAnswer(nil, back), q)
		if want := told(p); err != nil || !reflect.DeepEqual(want, got) {
			t.Fatalf("%v: %+v came back as %+v", err, want, got)
		}
	})
}

// TestBrief_W11_AnotherAnswer reads the answers to requests that differ in one thing that an answer
// is read beside: nothing of them comes out.
func TestBrief_W11_AnotherAnswer(t *testing.T) {
	for _, isBrief := range []bool{false, true} {
		q, p := brief(sampleRequest(), isBrief), sampleResponse()
		p.Number = q.Number
		for name, change := range map[string]func(*wire.Request){
			"number":   func(q *wire.Request) { q.Number++ },
			"wall":     func(q *wire.Request) { q.WallMS-- },
			"seen":     func(q *wire.Request) { q.Seen-- },
			"verdicts": func(q *wire.Request) { q.PushFrom-- },
			"epoch":    func(q *wire.Request) { q.Epoch, q.Proof = q.Epoch+1, q.Proof+1 },
			"pushed":   func(q *wire.Request) { q.Push = q.Push[1:] },
			"device":   func(q *wire.Request) { q.Device++ },
			"document": func(q *wire.Request) { q.Pulls[0].Doc.Seq++ },
			"cursor":   func(q *wire.Request) { q.Pulls[0].After++ },
			"pulls":    func(q *wire.Request) { q.Pulls = q.Pulls[1:] },
		} {
			other := q
			other.Pulls = slices.Clone(q.Pulls)
			change(&other)
			got, err := wire.ParseAnswer(p.AppendAnswer(nil, other), q)
			want := wire.Response{Number: got.Number}
			if err != nil || got.Number == q.Number || !reflect.DeepEqual(got, want) {
				t.Errorf("another %s: %v, %+v was read", name, err, got)
			}
		}
	}
}

// TestBrief_W11_Unclear: an answer to a proof that proved nothing holds nothing else.
func TestBrief_W11_Unclear(t *testing.T) {
	q, p := brief(sampleRequest(), true), sampleResponse()
	p.IsUnclear = true
	b := p.AppendAnswer(nil, q)
	got, err := wire.ParseAnswer(b, q)
	if err != nil || !got.IsUnclear || got.Have != 0 || got.Changed != nil || got.Pages != nil {
		t.Errorf("%v: %+v", err, got)
	}
	if len(b) > 16 {
		t.Errorf("it takes %d bytes", len(b))
	}
}

// TestRequest_W11_Knows changes each thing that a request and a server must agree on.
func TestRequest_W11_Knows(t *testing.T) {
	for _, isBrief := range []bool{false, true} {
		q := brief(sampleRequest(), isBrief)
		server := q
		if !q.Knows(3, q.PushFrom, server.Chain) {
			t.Error("does not know what is so")
		}
		server.Chain[31] ^= 1
		if q.Knows(4, q.PushFrom, q.Chain) || q.Knows(3, q.PushFrom+1, q.Chain) ||
			q.Knows(3, q.PushFrom, server.Chain) {
			t.Errorf("brief %v: knows what is not so", isBrief)
		}
	}
	q := brief(sampleRequest(), true)
	if q.Device++; q.Knows(3, q.PushFrom, q.Chain) {
		t.Error("the proof is not of the device")
	}
}

// TestBrief_W2_EveryCutAndFlip cuts and damages frames of version 3 everywhere.
func TestBrief_W2_EveryCutAndFlip(t *testing.T) {
	q := brief(sampleRequest(), true)
	parse := map[string]func([]byte) error{
		"request": func(b []byte) error { _, err := wire.ParseRequest(b); return err },
		"answer": func(b []byte) error {
			p, err := wire.ParseAnswer(b, q)
			if err == nil && p.Number != q.Number {
				return wire.ErrMalformed // as if to an earlier request: passed over
			}
			return err
		},
	}
	for name, b := range map[string][]byte{
		"request": q.Append(nil), "answer": sampleResponse().AppendAnswer(nil, q),
	} {
		if b[0] != 3 {
			t.Fatalf("%s is of version %d", name, b[0])
		}
		for end := range len(b) {
			if err := parse[name](b[:end]); !isListed(err) {
				t.Fatalf("%s cut to %d bytes: %v", name, end, err)
			}
		}
		if err := parse[name](append(slices.Clone(b), 0)); !errors.Is(err, wire.ErrMalformed) {
			t.Errorf("%s with a byte too many: %v", name, err)
		}
		for at := range b {
			for bit := range 8 {
				damaged := slices.Clone(b)
				damaged[at] ^= 1 << bit
				if err := parse[name](damaged); err != nil && !isListed(err) {
					t.Fatalf("%s, bit %d of byte %d: %v", name, bit, at, err)
				}
			}
		}
	}
}

// TestBrief_W4_Limits: version 3 is bounded as the versions before it are.
func TestBrief_W4_Limits(t *testing.T) {
	ops := make([]record.Operation, wire.MaxPush+1)
	for i := range ops {
		ops[i] = sample()[0]
		ops[i].Seq = uint64(i + 1)
		ops[i].Value = record.Int(int64(i) * 7_919_000_003) // or they would be too dense
	}
	q := wire.Request{Device: 1, IsTaught: true, Push: ops}
	if b := q.Append(nil); b[0] != 3 {
		t.Fatalf("written as version %d", b[0])
	} else if _, err := wire.ParseRequest(b); !errors.Is(err, wire.ErrLimit) {
		t.Errorf("%d operations: %v, want ErrLimit", len(ops), err)
	}
	q.Push = ops[1:]
	if _, err := wire.ParseRequest(q.Append(nil)); err != nil {
		t.Errorf("%d operations: %v", len(ops)-1, err)
	}
	large := append(q.Append(nil), make([]byte, wire.MaxBodyBytes)...)
	if _, err := wire.ParseRequest(large); !errors.Is(err, wire.ErrLimit) {
		t.Errorf("%d bytes: %v, want ErrLimit", len(large), err)
	}
}

// TestBrief_W9_Dense: what version 3 would put into too few bytes is written as version 1.
func TestBrief_W9_Dense(t *testing.T) {
	q := wire.Request{Device: 1, IsTaught: true, Push: make([]record.Operation, wire.MaxPush)}
	for i := range q.Push {
		q.Push[i] = record.Operation{Doc: record.ID{Device: 1, Seq: 1},
			Record: record.ID{Device: 1, Seq: 1}, Kind: "a", Field: "a", Value: record.Bool(true),
			Seq: uint64(i + 1), Stamp: clock.Stamp{WallMS: 1000, Count: uint32(i), Device: 1}}
	}
	b := q.Append(nil)
	back, err := wire.ParseRequest(b)
	if err != nil || b[0] != 1 || back.IsTaught || !equalOperations(back.Push, q.Push) {
		t.Errorf("%d bytes of version %d: %v", len(b), b[0], err)
	}
}

// TestBrief_W10_LessonHelps: a session of the product's own fields takes at most three quarters
// of what it takes as version 2, and nothing said is some bytes. Both are choices of our own.
func TestBrief_W10_LessonHelps(t *testing.T) {
	q := brief(wire.Request{Schema: 1, Device: 0x0123456789abcdef, Epoch: 1 << 47, Number: 9,
		WallMS: 1_700_000_000_000, Seen: 900, PushFrom: 700}, true)
	doc := record.ID{Device: 0x7edcba9876543210, Seq: 1}
	for i := range uint64(8) {
		set := record.ID{Device: q.Device, Seq: q.PushFrom + uint64(len(q.Push)) + 1}
		side := []string{"left", "right"}[i%2]
		for n, f := range []record.FieldValue{
			{Field: "step", Value: record.Text("side_front_roll")},
			{Field: "down", Value: record.Text(side)}, {Field: "working", Value: record.Text(side)},
			{Field: "number", Value: record.Int(int64(i) + 1)},
			{Field: "heldMS", Value: record.Int(20_000 + int64(i*i)*977)},
			{Field: "clock", Value: record.Text("mono")},
		} {
			q.Push = append(q.Push, record.Operation{Doc: doc, Record: set, Kind: "set",
				Field: f.Field, Value: f.Value, Seq: q.PushFrom + uint64(len(q.Push)) + 1,
				Stamp: clock.Stamp{WallMS: q.WallMS - 900_000 + int64(i)*71_003, Count: uint32(n),
					Device: q.Device}})
		}
	}
	taught := len(q.Append(nil))
	q.IsTaught = false
	if plain := len(q.Append(nil)); 4*taught > 3*plain {
		t.Errorf("%d bytes, as version 2 %d", taught, plain)
	}
	q.IsTaught, q.Push = true, nil
	if ask := len(q.Append(nil)); ask > 40 {
		t.Errorf("a request without anything takes %d bytes", ask)
	}
	nothing := wire.Response{Schema: 1, Epoch: q.Epoch, Number: q.Number, WallMS: q.WallMS + 90,
		Have: q.PushFrom, HaveChain: q.Chain, Seen: q.Seen, IsKnown: true}
	if answer := len(nothing.AppendAnswer(nil, q)); answer > 10 {
		t.Errorf("an answer without anything takes %d bytes", answer)
	}
}
