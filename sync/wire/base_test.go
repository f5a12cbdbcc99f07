package wire_test

import (
	"bytes"
	"errors"
	"math"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// thinned returns a document that let go of two operations.
func thinned(t *testing.T) *record.Doc {
	t.Helper()
	d := record.NewDoc(record.ID{Device: 5, Seq: 1})
	pen := record.NewAuthor(5, 0, [32]byte{}, clock.New(5, clock.Stamp{}))
	first := []record.FieldValue{{Field: "loadG", Value: record.Int(8000)}}
	set, _, err := pen.Create(d, "set", first, 1000)
	for i := int64(1); i < 4 && err == nil; i++ {
		_, err = pen.Write(d, set, "set", "loadG", record.Int(8000+i), 1000*(i+1))
	}
	if err != nil {
		t.Fatal(err)
	}
	if n := d.Compact(record.Horizon{BeforeMS: math.MaxInt64}); n != 2 {
		t.Fatalf("%d operations went, want 2", n)
	}
	return d
}

func TestSnapshot_W1_Compacted(t *testing.T) {
	d := thinned(t)
	b := wire.AppendSnapshot(nil, d)
	got, err := wire.Snapshot(b)
	if err != nil {
		t.Fatal(err)
	}
	if got.Digest() != d.Digest() || got.Len() != d.Len() || len(got.Conflicts()) != 0 {
		t.Errorf("read back %d operations, %d conflicts", got.Len(), len(got.Conflicts()))
	}
	if !bytes.Equal(wire.AppendSnapshot(nil, got), b) {
		t.Error("written again it has other bytes")
	}
}

func TestSnapshot_W6_CompactedDamage(t *testing.T) {
	b := wire.AppendSnapshot(nil, thinned(t))
	for i := range b {
		damaged := bytes.Clone(b)
		damaged[i] ^= 0x10
		if d, err := wire.Snapshot(damaged); err == nil {
			t.Fatalf("byte %d: damage gave %d operations", i, d.Len())
		}
		if _, err := wire.Snapshot(b[:i]); err == nil {
			t.Fatalf("cut at %d was read", i)
		}
	}
	if _, err := wire.Snapshot(nil); !errors.Is(err, wire.ErrMalformed) {
		t.Error(err)
	}
}
