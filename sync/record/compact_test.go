package record_test

import (
	"errors"
	"maps"
	"math"
	"slices"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"

	"pgregory.net/rapid"
)

// looksLike compares all that is shown: everything but history.
func looksLike(a, b *record.Doc) bool {
	return a.Digest() == b.Digest() &&
		maps.EqualFunc(shown(a), shown(b), slices.Equal) &&
		len(a.Conflicts()) == len(b.Conflicts()) &&
		slices.EqualFunc(a.Records("set"), b.Records("set"), func(x, y *record.Record) bool {
			sameHeads := true
			for field := range y.Fields() {
				sameHeads = sameHeads &&
					slices.Equal(x.Register(field).Heads(), y.Register(field).Heads())
			}
			return x.ID() == y.ID() && x.Created() == y.Created() && sameHeads
		})
}

func apply(t *rapid.T, d *record.Doc, op record.Operation) {
	if _, err := d.Apply(op); err != nil {
		t.Fatal(err)
	}
}

// TestDoc_M13_CompactedLooksLikeWhole brings the operations of a history in any order, some of
// them twice, to a replica that keeps everything and to one that lets go of what it may.
func TestDoc_M13_CompactedLooksLikeWhole(t *testing.T) {
	dropped := 0
	rapid.Check(t, func(t *rapid.T) {
		all := union(t, drawHistory(t)...).Operations()
		arriving := rapid.Permutation(append(slices.Clone(all), all...)).Draw(t, "order")
		whole, thin := record.NewDoc(docID), record.NewDoc(docID)
		for _, op := range arriving {
			apply(t, whole, op)
			apply(t, thin, op)
			if rapid.IntRange(0, 3).Draw(t, "compact") > 0 {
				continue
			}
			dropped += thin.Compact(record.Horizon{
				BeforeMS: rapid.Int64Range(0, 50).Draw(t, "before"),
				Own:      clock.Device(rapid.IntRange(0, 3).Draw(t, "own")),
				Acked:    rapid.Uint64Range(0, 20).Draw(t, "acked"),
			})
			if !looksLike(thin, whole) {
				t.Fatal("the compacted replica shows something else")
			}
		}
		if !looksLike(thin, whole) {
			t.Fatal("the compacted replica went another way")
		}
		again, err := record.Restore(docID, thin.Base(), thin.Operations())
		if err != nil || !looksLike(again, whole) || again.Len() != thin.Len() {
			t.Fatalf("restored: %v", err)
		}
	})
	if dropped == 0 {
		t.Error("nothing was ever let go of")
	}
}

// TestDoc_M13_WhatStays: own operations, the first of each record, and what is replaced only by
// something that the server may yet refuse.
func TestDoc_M13_WhatStays(t *testing.T) {
	a, b := pen(1), pen(2)
	here, there, set := begun(t, a)
	write(t, a, here, set, "holdMS", record.Int(41_000), 2000)
	write(t, a, here, set, "holdMS", record.Int(42_000), 3000)
	merge(t, there, here)
	write(t, b, there, set, "holdMS", record.Int(43_000), 4000)

	everything := int64(math.MaxInt64)
	if n := there.Compact(record.Horizon{BeforeMS: everything, Own: 1}); n != 0 {
		t.Errorf("%d own operations went", n)
	}
	// 45 s begins the record; 41 s is replaced for good, 42 s only by what nobody has seen.
	if n := there.Compact(record.Horizon{BeforeMS: everything, Own: 2, Acked: 0}); n != 1 {
		t.Errorf("%d operations went, want 1", n)
	}
	if n := there.Compact(record.Horizon{BeforeMS: 3000, Own: 2, Acked: 1}); n != 0 {
		t.Errorf("%d operations at the horizon went", n)
	}
	if n := there.Compact(record.Horizon{BeforeMS: everything, Own: 2, Acked: 1}); n != 1 {
		t.Errorf("%d operations went, want 1", n)
	}
	r, _ := there.Record(set)
	if history := r.Register("holdMS").History(); len(history) != 2 {
		t.Errorf("history %v, want the first and the last", history)
	}
	want := []record.Dropped{{Device: 1, Seqs: []uint64{3, 4}}}
	if got := there.Base().Dropped; !slices.EqualFunc(got, want, func(x, y record.Dropped) bool {
		return x.Device == y.Device && slices.Equal(x.Seqs, y.Seqs)
	}) {
		t.Errorf("dropped %v, want %v", got, want)
	}
}

func TestDoc_M14_MergedIntoNoOther(t *testing.T) {
	a := pen(1)
	here, there, set := begun(t, a)
	write(t, a, here, set, "holdMS", record.Int(41_000), 2000)
	write(t, a, here, set, "holdMS", record.Int(42_000), 3000)
	here.Compact(record.Horizon{BeforeMS: math.MaxInt64})
	if err := there.Merge(here); !errors.Is(err, record.ErrCompacted) || there.Len() != 2 {
		t.Errorf("Merge = %v, %d operations", err, there.Len())
	}
	if err := here.Merge(there); err != nil {
		t.Errorf("a whole document is refused: %v", err)
	}
}

// TestDoc_M14_ReopenedTakesAllAgain: after Reopen the same operations make the whole document.
func TestDoc_M14_ReopenedTakesAllAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := union(t, drawHistory(t)...)
		thin := union(t, whole)
		thin.Compact(record.Horizon{BeforeMS: math.MaxInt64})
		thin.Reopen()
		for _, op := range whole.Operations() {
			apply(t, thin, op)
		}
		if !looksLike(thin, whole) || thin.Len() != whole.Len() {
			t.Fatalf("%d operations after reopening, want %d", thin.Len(), whole.Len())
		}
	})
}

func TestRestore_M13_Refuses(t *testing.T) {
	a := pen(1)
	d, _, set := begun(t, a)
	stamps := []clock.Stamp{{WallMS: 1, Device: 9}}
	for name, base := range map[string]record.Base{
		"a number that is here": {Dropped: []record.Dropped{{Device: 1, Seqs: []uint64{1}}}},
		"numbers out of order":  {Dropped: []record.Dropped{{Device: 2, Seqs: []uint64{5, 5}}}},
		"no numbers":            {Dropped: []record.Dropped{{Device: 2}}},
		"devices out of order": {Dropped: []record.Dropped{
			{Device: 3, Seqs: []uint64{1}}, {Device: 2, Seqs: []uint64{1}}}},
		"no such record": {Replaced: []record.Replaced{
			{Record: record.ID{Device: 7, Seq: 7}, Field: "side", Stamps: stamps}}},
		"no such field": {Replaced: []record.Replaced{{Record: set, Field: "x", Stamps: stamps}}},
		"a field twice": {Replaced: []record.Replaced{
			{Record: set, Field: "side", Stamps: stamps}, {Record: set, Field: "side", Stamps: stamps}}},
		"no stamps": {Replaced: []record.Replaced{{Record: set, Field: "side"}}},
	} {
		if _, err := record.Restore(docID, base, d.Operations()); !errors.Is(err, record.ErrBase) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
