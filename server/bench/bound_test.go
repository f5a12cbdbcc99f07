package main

import (
	"encoding/json"
	"testing"

	"evenhold/pwa/bench/merge/replay"
	"evenhold/pwa/bench/merge/trace"
)

// The entropy of two values that are there twice each is one bit a value, and of a value that is
// always the same none: "A Mathematical Theory of Communication", Bell System Technical Journal
// 1948;27(3):379-423, doi:10.1002/j.1538-7305.1948.tb01338.x, section 6.
func TestEntropyBytes_OfKnownShares(t *testing.T) {
	for _, c := range []struct {
		count    map[string]int
		of, want int
	}{
		{map[string]int{"a": 8, "b": 8}, 16, 2},
		{map[string]int{"a": 16}, 16, 0},
		{map[string]int{"a": 4, "b": 4, "c": 4, "d": 4}, 16, 4},
	} {
		if got := entropyBytes(c.count, c.of); got != c.want {
			t.Errorf("%v: %d bytes, want %d", c.count, got, c.want)
		}
	}
}

// TestBound_LiesBelowTheCompressedLines: in columns a year takes less than the same lines take as
// compressed text, and it still holds something for each of its texts.
func TestBound_LiesBelowTheCompressedLines(t *testing.T) {
	lines := trace.Make(1, replay.Seed)
	var years []trace.Line
	for _, line := range lines {
		if line.Part == trace.PartYears && !line.IsSync {
			years = append(years, line)
		}
	}
	text, err := json.Marshal(years)
	if err != nil {
		t.Fatal(err)
	}
	if got, most := bound(lines), packed(text); got >= most || got < most/10 {
		t.Errorf("%d bytes in columns beside %d of compressed text", got, most)
	}
}
