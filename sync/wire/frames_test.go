package wire_test

import (
	"errors"
	"reflect"
	"testing"

	"evenhold/sync/record"
	"evenhold/sync/wire"

	"pgregory.net/rapid"
)

func drawHash(t *rapid.T) (h [32]byte) {
	copy(h[:], rapid.SliceOfN(rapid.Byte(), 0, 32).Draw(t, "hash"))
	return h
}

func drawRequest(t *rapid.T) wire.Request {
	q := wire.Request{
		Schema: rapid.IntRange(0, 9).Draw(t, "schema"), Device: drawDevice(t),
		Epoch: rapid.Uint64().Draw(t, "epoch"), Number: rapid.Uint64().Draw(t, "number"),
		WallMS: rapid.Int64().Draw(t, "wall"), Seen: rapid.Uint64().Draw(t, "seen"),
		PushFrom: rapid.Uint64().Draw(t, "from"), Chain: drawHash(t),
		Push: drawOperations(t, 4),
	}
	for range rapid.IntRange(0, 3).Draw(t, "withdrawn") {
		q.Withdrawn = append(q.Withdrawn, rapid.Uint64().Draw(t, "seq"))
	}
	for range rapid.IntRange(0, 3).Draw(t, "pulls") {
		q.Pulls = append(q.Pulls, wire.Pull{
			Doc: drawID(t), After: rapid.Uint64().Draw(t, "at"),
			IsWhole: rapid.Bool().Draw(t, "whole"),
		})
	}
	return q
}

func drawResponse(t *rapid.T) wire.Response {
	p := wire.Response{
		Schema: rapid.IntRange(0, 9).Draw(t, "schema"), Epoch: rapid.Uint64().Draw(t, "epoch"),
		Number: rapid.Uint64().Draw(t, "number"), WallMS: rapid.Int64().Draw(t, "wall"),
		Have: rapid.Uint64().Draw(t, "have"), HaveChain: drawHash(t),
		Seen: rapid.Uint64().Draw(t, "seen"), MoreChanged: rapid.Bool().Draw(t, "more"),
		Problem: rapid.SampledFrom(append(wire.Codes(), "")).Draw(t, "problem"),
	}
	for range rapid.IntRange(0, 3).Draw(t, "entries") {
		id, n := drawID(t), rapid.Uint64Range(0, 99).Draw(t, "n")
		p.Verdicts = append(p.Verdicts, wire.Verdict{Seq: n, Code: wire.CodeForbidden})
		p.Changed = append(p.Changed, wire.Changed{Doc: id, Head: n, Digest: drawHash(t)})
		p.Gone = append(p.Gone, wire.Gone{Doc: id, Reason: "not shared any more"})
		p.Pages = append(p.Pages, wire.Page{
			Doc: id, From: n, To: n + 1, Head: n + 2, Ops: drawOperations(t, 3),
		})
	}
	return p
}

func TestRequest_W1_RoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawRequest(t)
		back, err := wire.ParseRequest(q.Append(nil))
		if err != nil || !reflect.DeepEqual(q, back) {
			t.Fatalf("%v: %+v came back as %+v", err, q, back)
		}
	})
}

func TestResponse_W1_RoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawResponse(t)
		back, err := wire.ParseResponse(p.Append(nil))
		if err != nil || !reflect.DeepEqual(p, back) {
			t.Fatalf("%v: %+v came back as %+v", err, p, back)
		}
	})
}

func TestRequest_W4_Limits(t *testing.T) {
	ops := make([]record.Operation, wire.MaxPush+1)
	for i := range ops {
		ops[i] = sample()[0]
		ops[i].Seq = uint64(i + 1)
	}
	if _, err := wire.ParseRequest(wire.Request{Device: 1, Push: ops}.Append(nil)); !errors.Is(
		err, wire.ErrLimit) {
		t.Errorf("%d operations: %v, want ErrLimit", len(ops), err)
	}
	if _, err := wire.ParseRequest(wire.Request{Device: 1, Push: ops[1:]}.Append(nil)); err != nil {
		t.Errorf("%d operations: %v", len(ops)-1, err)
	}
	large := append(wire.Request{Device: 1}.Append(nil), make([]byte, wire.MaxBodyBytes)...)
	if _, err := wire.ParseRequest(large); !errors.Is(err, wire.ErrLimit) {
		t.Errorf("%d bytes: %v, want ErrLimit", len(large), err)
	}
}

// TestRequest_W5_OneBadOperation: what one operation has wrong is judged later, by itself.
func TestRequest_W5_OneBadOperation(t *testing.T) {
	bad := sample()[0]
	bad.Value = record.Text(string(make([]byte, record.MaxTextBytes+1)))
	q := wire.Request{Device: 1, Push: []record.Operation{sample()[1], bad}}
	back, err := wire.ParseRequest(q.Append(nil))
	if err != nil || !equalOperations(q.Push, back.Push) {
		t.Fatalf("a long text spoilt its frame: %v", err)
	}
	if err := back.Push[1].Check(); !errors.Is(err, record.ErrTooLong) {
		t.Errorf("Check = %v, want ErrTooLong", err)
	}
}

func TestSnapshot_W6_RoundTripAndDamage(t *testing.T) {
	d := record.NewDoc(sample()[0].Doc)
	for _, op := range sample() {
		if _, err := d.Apply(op); err != nil {
			t.Fatal(err)
		}
	}
	b := wire.AppendSnapshot([]byte("x"), d)[1:]
	back, err := wire.Snapshot(b)
	if err != nil {
		t.Fatal(err)
	}
	if back.ID() != d.ID() || back.Digest() != d.Digest() || back.Len() != d.Len() {
		t.Error("the snapshot is of another document")
	}
	for at := range b {
		damaged := append([]byte(nil), b...)
		damaged[at] ^= 0x10
		if _, err := wire.Snapshot(damaged); !isListed(err) {
			t.Fatalf("damage at byte %d was taken in: %v", at, err)
		}
		if _, err := wire.Snapshot(b[:at]); !isListed(err) {
			t.Fatalf("cut to %d bytes: %v", at, err)
		}
	}
}
