package record_test

import (
	"errors"
	"slices"
	"testing"

	"evenhold/sync/record"

	"pgregory.net/rapid"
)

func TestBetween_M12_AlwaysRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var keys []string
		for range rapid.IntRange(1, 80).Draw(t, "inserts") {
			at := rapid.IntRange(0, len(keys)).Draw(t, "at")
			before, after := "", ""
			if at > 0 {
				before = keys[at-1]
			}
			if at < len(keys) {
				after = keys[at]
			}
			key, err := record.Between(before, after)
			if err != nil {
				t.Fatalf("between %q and %q: %v", before, after, err)
			}
			keys = slices.Insert(keys, at, key)
			if !slices.IsSorted(keys) || len(slices.Compact(slices.Clone(keys))) != len(keys) {
				t.Fatalf("keys out of order: %q", keys)
			}
		}
	})
}

// TestBetween_M12_AppendingStaysShort: a list that only grows at its end is the usual one.
func TestBetween_M12_AppendingStaysShort(t *testing.T) {
	key := ""
	for range 100 {
		next, err := record.Between(key, "")
		if err != nil {
			t.Fatal(err)
		}
		key = next
	}
	if len(key) > 25 {
		t.Errorf("after 100 items a key is %d bytes: %q", len(key), key)
	}
}

func TestBetween_M12_BadKeys(t *testing.T) {
	for _, pair := range [][2]string{{"b", "a"}, {"a", "a"}, {"a0", ""}, {"", "0"}, {"é", ""}} {
		if key, err := record.Between(pair[0], pair[1]); !errors.Is(err, record.ErrOrder) {
			t.Errorf("between %q and %q: %q, %v", pair[0], pair[1], key, err)
		}
	}
}
