package planning_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"

	"evenhold/internal/planning"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// TestOwnSample: each client counts once, with the median of the holds that the trunk ended.
// Medians by hand; mean and SD beside gonum, a general-purpose numerics library.
func TestOwnSample(t *testing.T) {
	var all []planning.Medians
	for _, lefts := range [][]int64{{50_000}, {40_000, 60_000, 44_000}, {70_000, 90_000}, {}} {
		b := newBook(t)
		for day, leftMS := range lefts {
			b.test(int64(10+30*day), leftMS, 33_000, sessions.StopPosition)
		}
		b.test(400, 200_000, 200_000, sessions.StopPain) // a lower bound is left out
		all = append(all, planning.MediansOf(b.doc))
	}
	want := []float64{50, 44, 80}
	s, median, ok := planning.OwnSample(all, reference.SideBridge, sides.WorksLeft)
	mean, sd := stat.MeanStdDev(want, nil)
	if !ok || s.People != 3 || median.Seconds() != 50 ||
		math.Abs(s.Mean.Seconds()-mean) > .001 || math.Abs(s.SD.Seconds()-sd) > .001 {
		t.Errorf("%+v, median %v, %v; want 3 people, mean %v, SD %v", s, median, ok, mean, sd)
	}
	if _, _, ok := planning.OwnSample(all[:1], reference.SideBridge, sides.WorksLeft); ok {
		t.Error("one person is a sample")
	}
	if _, _, ok := planning.OwnSample(all, reference.Extensor, ""); ok {
		t.Error("nobody's holds are a sample")
	}
}
