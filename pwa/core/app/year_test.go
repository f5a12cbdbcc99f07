package app

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// TestYearOf holds yearOf to the calendar of Go's time package, on the days
// around each new year and at any instant up to the year 9999.
func TestYearOf(t *testing.T) {
	agree := func(ms, tzMin int64) {
		want := time.UnixMilli(ms).In(time.FixedZone("", int(tzMin)*60)).Year()
		if got := yearOf(ms, tzMin); got != int64(want) {
			t.Fatalf("yearOf(%d, %d) = %d, want %d", ms, tzMin, got, want)
		}
	}
	for year := 1971; year <= 9999; year++ {
		start := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC).UnixMilli()
		for _, ms := range []int64{start - 1, start, start + 86_400_000} {
			agree(ms, 0)
		}
		agree(start, -1)
		agree(start-1, 1)
	}
	last := time.Date(9999, 12, 30, 0, 0, 0, 0, time.UTC).UnixMilli()
	rapid.Check(t, func(r *rapid.T) {
		agree(rapid.Int64Range(86_400_000, last).Draw(r, "ms"),
			rapid.Int64Range(-14*60, 14*60).Draw(r, "tzMin"))
	})
	if got := yearOf(-1<<62, 0); got != 1970 {
		t.Errorf("an instant long before 1970 is of %d, want 1970", got)
	}
}
