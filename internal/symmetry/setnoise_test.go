package symmetry_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"evenhold/internal/symmetry"
	"evenhold/internal/symmetry/simulated"
	"evenhold/internal/working"
)

var ownSource = working.Source{Title: "Our own count", Status: working.Entered}

// TestSetTo: 10.95 s of a 75 s hold is 14.6 %, and MDC95 = 1.96·√2·TE: the published pair
// 10.95 s and 30.35 s ("Is the side bridge test valid and reliable for assessing trunk lateral
// flexor endurance in recreational female athletes?", Biology 2022;11(7):1043,
// doi:10.3390/biology11071043), here on the log scale.
func TestSetTo(t *testing.T) {
	a := symmetry.Retest{FirstLeft: time.Minute, SecondLeft: 66 * time.Second}
	own := symmetry.NoiseOf([]symmetry.Retest{a, a, a, a}, symmetry.DefaultModel())
	n := own.SetTo(14.6, ownSource)
	te := math.Log(1.146)
	if math.Abs(n.Model.TypicalError-te) > 1e-12 || n.Model.TrialSD != n.Model.TypicalError ||
		n.Model.TrialSDLogSD != 0 {
		t.Errorf("model %+v", n.Model)
	}
	if ratio := n.MDC95 / te; math.Abs(ratio-30.35/10.95) > 0.001 {
		t.Errorf("MDC95 is %v typical errors, published %v", ratio, 30.35/10.95)
	}
	if n.Pairs != 4 || n.OwnTypicalError != own.OwnTypicalError {
		t.Errorf("the figures of the own records are gone: %+v", n)
	}
	if s := n.Working.Sources[0]; !reflect.DeepEqual(s, ownSource) {
		t.Errorf("the source is %+v", s)
	}
	c := symmetry.Compare([]symmetry.Trial{trial(left, 50, symmetry.Position, 1),
		trial(right, 60, symmetry.Position, 1)}, n.Model)
	if !reflect.DeepEqual(c.Working.Sources[0], ownSource) {
		t.Errorf("a verdict by it names %+v", c.Working.Sources)
	}
	for _, percent := range []float64{4.9, 40.1, 0, -3, math.NaN(), math.Inf(1)} {
		if got := own.SetTo(percent, ownSource); got.MDC95 != own.MDC95 {
			t.Errorf("%v %% was taken", percent)
		}
	}
}

// With a noise that is set to the truth, people whose sides are even must be called uneven
// at most once in twenty, at either end of what can be set.
func TestSetTo_EvenPeople(t *testing.T) {
	for _, percent := range []float64{symmetry.LeastSetPercent, 17, symmetry.MostSetPercent} {
		m := symmetry.NoiseOf(nil, symmetry.DefaultModel()).SetTo(percent, ownSource).Model
		rng := rand.New(rand.NewPCG(20260312, uint64(percent)))
		const people = 600
		uneven := 0
		for range people {
			trials := simulated.NewPerson(rng, m, 0).Trials(1, 0.425)
			if symmetry.Compare(trials, m).Verdict == symmetry.LargerThanNoise {
				uneven++
			}
		}
		if share := float64(uneven) / people; share > 0.05 {
			t.Errorf("noise %v %%: %.1f %% of even people were called uneven", percent, 100*share)
		}
	}
}
