package wire_test

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"

	"pgregory.net/rapid"
)

// responseOf carries operations in a page, so that they are written as version 2.
func responseOf(ops []record.Operation) wire.Response {
	return wire.Response{Pages: []wire.Page{{
		Doc: record.ID{Device: 1, Seq: 1}, To: uint64(len(ops)), Head: uint64(len(ops)), Ops: ops,
	}}}
}

func TestCoded_W1_RoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ops := drawOperations(t, 12)
		b := responseOf(ops).Append([]byte("before"))
		back, err := wire.ParseResponse(b[len("before"):])
		if err != nil || !equalOperations(ops, back.Pages[0].Ops) {
			t.Fatalf("%v: %v came back as %v", err, ops, back)
		}
	})
}

// TestCoded_W1_Texts sends texts that fall apart into words, references and neither.
func TestCoded_W1_Texts(t *testing.T) {
	device := clock.Device(0x0123456789abcdef)
	reference := record.ID{Device: device, Seq: 7}.String()
	texts := []string{"", " ", "  a ", "felt fine felt fine", "set set", reference, reference + "0",
		reference + " again", "0000000000001-01", "Å\x00\xff", strings.Repeat("x", 4000),
		strings.Repeat("felt ", 800)}
	var ops []record.Operation
	for i, text := range texts {
		ops = append(ops, record.Operation{
			Doc: record.ID{Device: device, Seq: 1}, Record: record.ID{Device: device, Seq: 1},
			Kind: "note", Field: "note", Value: record.Text(text), Seq: uint64(i + 1),
			Stamp: clock.Stamp{WallMS: 1000, Count: uint32(i), Device: device},
		})
	}
	back, err := wire.ParseResponse(responseOf(ops).Append(nil))
	if err != nil || !equalOperations(ops, back.Pages[0].Ops) {
		t.Errorf("%v: %+v", err, back)
	}
}

// TestCoded_W2_EveryCutAndFlip cuts and damages frames of version 2 everywhere. A cut is always
// found; a flip gives an error of the closed list or other operations, never a panic.
func TestCoded_W2_EveryCutAndFlip(t *testing.T) {
	parse := map[string]func([]byte) error{
		"request":  func(b []byte) error { _, err := wire.ParseRequest(b); return err },
		"response": func(b []byte) error { _, err := wire.ParseResponse(b); return err },
	}
	for name, b := range map[string][]byte{
		"request": sampleRequest().Append(nil), "response": sampleResponse().Append(nil),
	} {
		if b[0] != 2 {
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

// TestCoded_W9_Dense has 2,000 operations that foretell each other: they would take less than a
// byte for four, so that they are written as version 1, and come back.
func TestCoded_W9_Dense(t *testing.T) {
	device := clock.Device(0x0123456789abcdef)
	doc := record.ID{Device: device, Seq: 1}
	dense := make([]record.Operation, 2000)
	for i := range dense {
		dense[i] = record.Operation{Doc: doc, Record: doc, Kind: "a", Field: "a",
			Value: record.Bool(true), Seq: uint64(i + 1),
			Stamp: clock.Stamp{WallMS: 1000, Count: uint32(i), Device: device}}
	}
	texts := make([]record.Operation, 400)
	for i := range texts {
		texts[i] = dense[i]
		texts[i].Value = record.Text(strings.Repeat("ab ", 1000) + strings.Repeat("ab ", i%300))
	}
	for name, ops := range map[string][]record.Operation{"operations": dense, "texts": texts} {
		p := responseOf(ops)
		b := p.Append(nil)
		if b[0] != 1 {
			t.Errorf("%s: %d bytes of version %d", name, len(b), b[0])
		}
		if back, err := wire.ParseResponse(b); err != nil || !reflect.DeepEqual(back, p) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestCoded_W9_BombIsRefused asks for far more operations than the bytes may hold.
func TestCoded_W9_BombIsRefused(t *testing.T) {
	for first := range 256 {
		for second := range 256 {
			b := append([]byte{2, 3, 0, byte(first), byte(second)}, make([]byte, 20)...)
			p, err := wire.ParseResponse(b)
			if err != nil && !isListed(err) {
				t.Fatal(err)
			}
			for _, page := range p.Pages {
				if len(page.Ops) > 64+4*len(b) {
					t.Fatalf("%d operations out of %d bytes", len(page.Ops), len(b))
				}
			}
		}
	}
}
