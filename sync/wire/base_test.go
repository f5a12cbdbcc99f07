package wire_test

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"hash/crc32"
	"math"
	"strings"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// thinned returns a document that let go of two operations.
func thinned(t testing.TB) *record.Doc {
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

// TestSnapshot_W7_CompactedByHand spells out from SPEC.md what stands around the snapshot.
func TestSnapshot_W7_CompactedByHand(t *testing.T) {
	whole := record.NewDoc(record.ID{Device: 5, Seq: 1})
	digest := [32]byte{}
	for i := range uint64(4) {
		op := record.Operation{Doc: whole.ID(), Record: whole.ID(), Kind: "set", Field: "loadG",
			Value: record.Int(8000 + int64(i)), Seq: i + 1,
			Stamp: clock.Stamp{WallMS: 1000 * int64(i+1), Device: 5}}
		if i > 0 {
			op.Replaces = []clock.Stamp{{WallMS: 1000 * int64(i), Device: 5}}
		}
		if i == 1 || i == 2 {
			digest = record.AddDigest(digest, op)
		} else if _, err := whole.Apply(op); err != nil {
			t.Fatal(err)
		}
	}
	inner := wire.AppendSnapshot(nil, whole)
	inner = inner[:len(inner)-4] // without its checksum
	spelt := strings.Join([]string{
		"01 05",               // version, type
		"01 0000000000000005", // one device
		"01 00 02 02 01",      // of one device, the first, two went: number 2 and the next
		"01", hex.EncodeToString(digest[:]),
		"01 00 01 05 6c6f616447", // one field: of the record device 0 number 1, "loadG"
		"01 00 d00f 00",          // one stamp: device 0, reading 1000, count 0
		hex.EncodeToString(binary.AppendUvarint(nil, uint64(len(inner)))),
		hex.EncodeToString(inner),
	}, "")
	want, err := hex.DecodeString(strings.ReplaceAll(spelt, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	want = binary.BigEndian.AppendUint32(want, crc32.ChecksumIEEE(want))
	if got := wire.AppendSnapshot(nil, thinned(t)); !bytes.Equal(got, want) {
		t.Errorf("writes\n%x\nwant\n%x", got, want)
	}
	isWritten(t, "compacted.v1.hex", want)
	d, err := wire.Snapshot(vector(t, "compacted.v1.hex"))
	if err != nil || d.Digest() != thinned(t).Digest() || d.Len() != 2 {
		t.Errorf("the frozen bytes: %v", err)
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
