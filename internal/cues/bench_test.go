package cues_test

import (
	"testing"
	"time"

	"evenhold/internal/cues"
	"evenhold/internal/progression"
	"evenhold/internal/sides"
)

// BenchmarkPlan plans the first two minutes of 40 holds and rests.
func BenchmarkPlan(b *testing.B) {
	s, _ := progression.StepByID("straight_leg_hold")
	d := progression.Dose{HoldS: 10, Reps: []int{20}, RestBetweenRepsS: 5}
	series := cues.Expand(d, s, sides.WorksLeft, 1)
	for b.Loop() {
		if len(cues.Plan(series, 0, 2*time.Minute, all)) == 0 {
			b.Fatal("no cues")
		}
	}
}
