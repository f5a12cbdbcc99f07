package planning

import (
	"math"
	"slices"
	"time"

	"evenhold/internal/progression"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/working"
	"evenhold/sync/record"
)

// Medians is each kind of hold of one client by the median of those that the trunk
// ended: the sides of straight-leg tests, and the trunk holds. One not held is absent.
type Medians map[measure]time.Duration

type measure struct {
	test reference.Test
	side sides.Working
}

// MediansOf reads them from a client's record.
func MediansOf(d *record.Doc) Medians {
	held := map[measure][]time.Duration{}
	add := func(test reference.Test, w sides.Working, heldMS int64) {
		if at := (measure{test, w}); heldMS > 0 {
			held[at] = append(held[at], milliseconds(heldMS))
		}
	}
	for _, t := range sessions.Tests(d) {
		if step, _ := progression.StepByID(t.Step); step.Posture != progression.StraightLeg {
			continue
		}
		for _, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
			add(reference.SideBridge, w, valueOf(t, w).Milliseconds())
		}
	}
	for _, t := range sessions.Trunks(d) {
		if timedTrunk(t).IsValue() {
			add(reference.Test(t.What), "", t.HeldMS)
		}
	}
	medians := Medians{}
	for at, all := range held {
		medians[at] = median(all)
	}
	return medians
}

// median sorts all.
func median(all []time.Duration) time.Duration {
	slices.Sort(all)
	mid := len(all) / 2
	if len(all)%2 == 1 {
		return all[mid]
	}
	return (all[mid-1] + all[mid]) / 2
}

// OwnSample is a practice's own records as a sample, men and women together, in which each
// client counts once with their median, and the median over the clients. Fewer than two
// clients make none.
func OwnSample(all []Medians, test reference.Test, w sides.Working) (
	s reference.Sample, mid time.Duration, ok bool) {
	var held []time.Duration
	for _, medians := range all {
		if hold, found := medians[measure{test, w}]; found {
			held = append(held, hold)
		}
	}
	n := float64(len(held))
	if n < 2 {
		return reference.Sample{}, 0, false
	}
	var sum, squares float64
	for _, hold := range held {
		sum += hold.Seconds()
	}
	for _, hold := range held {
		off := hold.Seconds() - sum/n
		squares += off * off
	}
	return reference.Sample{
		ID: "own", Test: test, Side: w, People: len(held),
		Mean: seconds(sum / n), SD: seconds(math.Sqrt(squares / (n - 1))),
		Source: working.Source{Status: working.Entered},
	}, median(held), true
}

func seconds(s float64) time.Duration { return milliseconds(int64(math.Round(s * 1000))) }
