package wire_test

import (
	"bytes"
	"encoding/hex"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// TestFrames_W7_FrozenBytes reads the bytes that were written when each version was fixed. They
// must decode for ever, and what a version still writes must be written the same. A vector that
// no longer matches is never to be replaced: a new version gets vectors of its own.
func TestFrames_W7_FrozenBytes(t *testing.T) {
	q, p := sampleRequest(), sampleResponse()
	d := record.NewDoc(sample()[0].Doc)
	for _, op := range sample() {
		if _, err := d.Apply(op); err != nil {
			t.Fatal(err)
		}
	}
	isWritten(t, "operations.v1.hex", wire.AppendOperations(nil, sample()))
	isWritten(t, "request.v2.hex", q.Append(nil))
	isWritten(t, "response.v2.hex", p.Append(nil))
	isWritten(t, "snapshot.v2.hex", wire.AppendSnapshot(nil, d))
	q3 := brief(q, true)
	p3 := p
	p3.IsKnown, p3.Have = true, q.PushFrom+uint64(len(q.Push))
	isWritten(t, "request.v3.hex", q3.Append(nil))
	isWritten(t, "answer.v3.hex", p3.AppendAnswer(nil, q3))
	gotQ, err := wire.ParseRequest(vector(t, "request.v3.hex"))
	if err != nil || !reflect.DeepEqual(gotQ, arrived(q3)) {
		t.Errorf("request.v3: %v: %+v", err, gotQ)
	}
	gotP, err := wire.ParseAnswer(vector(t, "answer.v3.hex"), q3)
	if err != nil || !reflect.DeepEqual(gotP, told(p3)) {
		t.Errorf("answer.v3: %v: %+v", err, gotP)
	}

	back, err := wire.Operations(vector(t, "operations.v1.hex"))
	if err != nil || !equalOperations(back, sample()) {
		t.Errorf("operations: %v: %v", err, back)
	}
	for _, version := range []string{".v1.hex", ".v2.hex"} {
		gotQ, err := wire.ParseRequest(vector(t, "request"+version))
		if err != nil || !reflect.DeepEqual(gotQ, q) {
			t.Errorf("request%s: %v: %+v", version, err, gotQ)
		}
		gotP, err := wire.ParseResponse(vector(t, "response"+version))
		if err != nil || !reflect.DeepEqual(gotP, p) {
			t.Errorf("response%s: %v: %+v", version, err, gotP)
		}
		gotD, err := wire.Snapshot(vector(t, "snapshot"+version))
		if err != nil || gotD.Digest() != d.Digest() {
			t.Errorf("snapshot%s: %v", version, err)
		}
	}
}

// isWritten checks that the frozen bytes are the ones written now.
func isWritten(t *testing.T, name string, written []byte) {
	t.Helper()
	if frozen := vector(t, name); !bytes.Equal(written, frozen) {
		t.Errorf("%s: writes\n%x\nnot\n%x", name, written, frozen)
	}
}

// vector returns frozen bytes.
func vector(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	frozen, err := hex.DecodeString(strings.Join(strings.Fields(string(text)), ""))
	if err != nil {
		t.Fatal(err)
	}
	return frozen
}

// TestOperations_W7_ByHand spells one small frame out from SPEC.md, so that the frozen bytes do
// not only repeat what the program did when they were frozen.
func TestOperations_W7_ByHand(t *testing.T) {
	spelt := strings.Join([]string{
		"01 01",               // version, type
		"01 0000000000000007", // one device
		"02",                  // two operations
		"14 04",               // walls: 10, then 2 later
		"04 00",               // authors: a run of two, the first device
		"04 00",               // numbers: both as expected
		"04 00",               // counts: both as expected
		"04 00",               // readings: none
		"01 00 01 04 00",      // one document, device 0 number 1, a run of two
		"01 03 736574 01 61",  // one shape: "set", "a"
		"00 02 00 01 00",      // no hits, symbol 2 (new record); no hits, symbol 1 (same); none
		"",                    // no record spelt out
		"04 01",               // types: whole numbers
		"00 0a 0e",            // from zero: 5 and 7
		"03 00 01",            // replaced: two as they are, none and one
		"02 00",               // told as: the latest of the same field
	}, "")
	frozen, err := hex.DecodeString(strings.ReplaceAll(spelt, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	a := record.Operation{
		Doc: record.ID{Device: 7, Seq: 1}, Record: record.ID{Device: 7, Seq: 1},
		Kind: "set", Field: "a", Value: record.Int(5), Seq: 1,
	}
	a.Stamp.WallMS, a.Stamp.Device = 10, 7
	b := a
	b.Value, b.Seq, b.Stamp.WallMS = record.Int(7), 2, 12
	b.Replaces = append(b.Replaces, a.Stamp)
	back, err := wire.Operations(frozen)
	if want := []record.Operation{a, b}; err != nil || !equalOperations(back, want) {
		t.Errorf("%v: %+v", err, back)
	}
	if got := hex.EncodeToString(wire.AppendOperations(nil, []record.Operation{a, b})); got !=
		hex.EncodeToString(frozen) {
		t.Errorf("writes %s, want %x", got, frozen)
	}
}

func sampleRequest() wire.Request {
	ops := sample()
	return wire.Request{
		Schema: 1, Device: ops[0].Stamp.Device, Epoch: 3, Number: 12,
		WallMS: 1_700_000_061_000, Seen: 40, Chain: [32]byte{0: 0xab, 31: 0xcd},
		Push: ops[:3], Withdrawn: []uint64{2},
		Pulls: []wire.Pull{{Doc: ops[0].Doc, After: 7, IsWhole: true}},
	}
}

func sampleResponse() wire.Response {
	ops := sample()
	other := record.ID{Device: ops[3].Stamp.Device, Seq: 4}
	return wire.Response{
		Schema: 1, Epoch: 3, Number: 12, WallMS: 1_700_000_061_500,
		Have: 3, HaveChain: [32]byte{1, 2, 3},
		Verdicts: []wire.Verdict{{Seq: 2, Code: wire.CodeWithdrawn}},
		Seen:     41, MoreChanged: true,
		Changed: []wire.Changed{{Doc: ops[0].Doc, Head: 9, Digest: [32]byte{9}}},
		Pages:   []wire.Page{{Doc: ops[0].Doc, From: 7, To: 9, Head: 9, Ops: ops[3:]}},
		Gone:    []wire.Gone{{Doc: other, Reason: "erased"}},
		Problem: wire.CodeBusy,
	}
}
