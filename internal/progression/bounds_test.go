package progression_test

import (
	"errors"
	"testing"

	"evenhold/internal/progression"
)

// TestCheck walks over both ends of each range. The ranges are ours, no source;
// they are written here a second time so that a change shows.
func TestCheck(t *testing.T) {
	tests := []struct {
		quantity progression.Quantity
		min, max int64
	}{
		{progression.HoldMS, 0, 1_800_000},
		{progression.LoadG, 0, 150_000},
		{progression.ImplementG, 500, 150_000},
		{progression.NoisePM, 50, 400},
		{progression.People, 2, 100_000},
		{progression.DistanceMM, 0, 2_000_000},
		{progression.TimeMS, 0, 3_600_000},
		{progression.SessionMS, 0, 14_400_000},
		{progression.Reps, 0, 100},
		{progression.Effort, 0, 10},
		{progression.Pain, 0, 10},
		{progression.StatureMM, 800, 2_500},
		{progression.MassG, 20_000, 300_000},
	}
	for _, tt := range tests {
		for _, v := range []int64{tt.min, tt.max} {
			if err := progression.Check(tt.quantity, v); err != nil {
				t.Errorf("Check(%s, %d) = %v, want nil", tt.quantity, v, err)
			}
		}
		for _, v := range []int64{tt.min - 1, tt.max + 1} {
			var bad *progression.OutOfBounds
			if err := progression.Check(tt.quantity, v); !errors.As(err, &bad) || bad.Value != v {
				t.Errorf("Check(%s, %d) = %v, want it refused with the value", tt.quantity, v, err)
			}
		}
	}
}

func TestCheckBirthYear(t *testing.T) {
	for _, year := range []int64{1916, 1990, 2026} {
		if err := progression.CheckBirthYear(year, 2026); err != nil {
			t.Errorf("born %d in 2026: %v, want nil", year, err)
		}
	}
	for _, year := range []int64{2027, 1915, 0, -5} {
		if err := progression.CheckBirthYear(year, 2026); err == nil {
			t.Errorf("born %d in 2026 is accepted", year)
		}
	}
}

// TestOutOfBoundsArgs: a 900 kg carry is told in kilograms, not grams.
func TestOutOfBoundsArgs(t *testing.T) {
	var bad *progression.OutOfBounds
	if !errors.As(progression.Check(progression.LoadG, 900_000), &bad) {
		t.Fatal("a 900 kg carry is accepted")
	}
	args := bad.Args()
	if args["value"] != 900 || args["min"] != 0 || args["max"] != 150 || bad.Bound.Shown != "kg" {
		t.Errorf("told as %v %s, want 900, 0 to 150 kg", args, bad.Bound.Shown)
	}
}

func TestBoundOf(t *testing.T) {
	if _, ok := progression.BoundOf(progression.BirthYear); ok {
		t.Error("birth years have a fixed range, but it moves with the present year")
	}
	if b, ok := progression.BoundOf(progression.Pain); !ok || b.Max != 10 {
		t.Errorf("pain runs to %d, want 10", b.Max)
	}
}
