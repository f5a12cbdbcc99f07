package sessions_test

import (
	"errors"
	"testing"

	"evenhold/internal/sessions"
)

// TestElapsed holds the rule that the High Resolution Time standard (W3C
// Recommendation, section "Monotonic Clock") and its note on suspended pages ask
// for: within one run the monotonic clock tells, whatever the wall clock does;
// across a gap it may have stood still, so the wall clock tells and says so.
// Section title from memory.
func TestElapsed(t *testing.T) {
	at := func(wallMS, monoMS int64, run string) sessions.Reading {
		return sessions.Reading{WallMS: wallMS, MonoMS: monoMS, Run: run}
	}
	tests := []struct {
		name       string
		start, end sessions.Reading
		wantMS     int64
		wantClock  string
		wantErr    error
	}{
		{"one run, both clocks agree", at(5000, 100, "a"), at(65000, 60100, "a"), 60000, "mono", nil},
		{"no time at all", at(5000, 100, "a"), at(5000, 100, "a"), 0, "mono", nil},
		{"wall set an hour on in a run", at(5000, 100, "a"), at(3_665_000, 60100, "a"),
			60000, "mono", nil},
		{"wall set a day back in a run", at(90_000_000, 100, "a"), at(3_660_000, 60100, "a"),
			60000, "mono", nil},
		{"the page was started again", at(5000, 70_000, "a"), at(65000, 40, "b"), 60000, "wall", nil},
		{"another run whose clock reads later", at(5000, 100, "a"), at(65000, 999_999, "b"),
			60000, "wall", nil},
		{"another run, wall went back", at(65000, 100, "a"), at(5000, 200, "b"),
			0, "", sessions.ErrBackwards},
		{"one run whose own clock went back, wall sound", at(5000, 900, "a"), at(6000, 800, "a"),
			1000, "wall", nil},
		{"both went back", at(6000, 900, "a"), at(5000, 800, "a"), 0, "", sessions.ErrBackwards},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			ms, clock, err := sessions.Elapsed(tt.start, tt.end)
			if ms != tt.wantMS || clock != tt.wantClock || !errors.Is(err, tt.wantErr) {
				t.Errorf("Elapsed = %d ms by %q, %v; want %d by %q, %v",
					ms, clock, err, tt.wantMS, tt.wantClock, tt.wantErr)
			}
		})
	}
}

func TestReadingAt(t *testing.T) {
	start := sessions.Reading{WallMS: 5000, MonoMS: 100, Run: "a"}
	want := sessions.Reading{WallMS: 12_000, MonoMS: 7100, Run: "a"}
	if got := start.At(7000); got != want {
		t.Errorf("At(7000) = %+v, want %+v", got, want)
	}
}
