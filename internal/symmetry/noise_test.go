package symmetry_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"evenhold/internal/symmetry"
)

func ExampleNoiseOf() {
	n := symmetry.NoiseOf(nil, symmetry.DefaultModel())
	fmt.Printf("own figures: %v, beyond noise from %.0f %% longer\n",
		n.HasOwn, 100*math.Expm1(n.MDC95))
	// Output: own figures: false, beyond noise from 55 % longer
}

// practice simulates people tested twice, with a noise of its own: day is shared
// by both sides of a visit, trial is not; learn is added to each second test.
func practice(rng *rand.Rand, people int, day, trialSD, learn float64) []symmetry.Retest {
	hold := func(log float64) time.Duration {
		return time.Duration(math.Exp(log) * float64(time.Second))
	}
	var retests []symmetry.Retest
	for range people {
		left := math.Log(60) + 0.4*rng.NormFloat64()
		right := left + 0.2*rng.NormFloat64()
		a, b := day*rng.NormFloat64(), day*rng.NormFloat64()+learn
		e := func() float64 { return trialSD * rng.NormFloat64() }
		retests = append(retests, symmetry.Retest{
			FirstLeft: hold(left + a + e()), FirstRight: hold(right + a + e()),
			SecondLeft: hold(left + b + e()), SecondRight: hold(right + b + e()),
		})
	}
	return retests
}

// With very many records the practice's own noise must come out, whatever was
// published; the truth is what the simulation put in.
func TestNoiseRecoversTheTruth(t *testing.T) {
	rng := rand.New(rand.NewPCG(20260307, 0))
	const day, trialSD, learn = 0.06, 0.08, -0.05
	n := symmetry.NoiseOf(practice(rng, 4000, day, trialSD, learn), symmetry.DefaultModel())
	for name, pair := range map[string][2]float64{
		"typical error": {n.OwnTypicalError, math.Hypot(day, trialSD)},
		"drawn in":      {n.Model.TypicalError, math.Hypot(day, trialSD)},
		"trial SD":      {n.Model.TrialSD, trialSD},
		"learning":      {n.Learning, learn},
		"ICC":           {n.ICC, 1 - (day*day+trialSD*trialSD)/(0.18+day*day+trialSD*trialSD)},
		// SEM = SD·√(1-ICC) is the typical error by another road.
		"SEM": {n.SEM, math.Hypot(day, trialSD)},
	} {
		if math.Abs(pair[0]-pair[1]) > 0.012 {
			t.Errorf("%s = %.4f, want %.4f", name, pair[0], pair[1])
		}
	}
	if n.Pairs != 8000 || n.Contrasts != 4000 {
		t.Errorf("pairs %d, contrasts %d", n.Pairs, n.Contrasts)
	}
}

// TE = SD(differences)/√2, with the SD by gonum, a general-purpose numerics
// library; MDC95 = 1.96·√2·TE.
func TestNoiseFormulas(t *testing.T) {
	rng := rand.New(rand.NewPCG(20260308, 0))
	retests := practice(rng, 12, 0.1, 0.12, 0)
	retests[0].SecondLeft = 0 // cut short: this side drops out, the other stays
	var changes []float64
	for i, r := range retests {
		if i > 0 {
			changes = append(changes, math.Log(float64(r.SecondLeft)/float64(r.FirstLeft)))
		}
		changes = append(changes, math.Log(float64(r.SecondRight)/float64(r.FirstRight)))
	}
	n := symmetry.NoiseOf(retests, symmetry.DefaultModel())
	if want := stat.StdDev(changes, nil) / math.Sqrt2; math.Abs(n.OwnTypicalError-want) > 1e-9 {
		t.Errorf("typical error %v, want %v", n.OwnTypicalError, want)
	}
	if n.Pairs != 23 || n.Contrasts != 11 {
		t.Errorf("pairs %d, contrasts %d; want 23, 11", n.Pairs, n.Contrasts)
	}
	te := n.Model.TypicalError
	if math.Abs(n.MDC95-1.959964*math.Sqrt2*te) > 1e-6 ||
		math.Abs(n.MDC90-1.644854*math.Sqrt2*te) > 1e-6 {
		t.Errorf("MDC95 %v, MDC90 %v for a typical error of %v", n.MDC95, n.MDC90, te)
	}
}

// The fewer the records, the nearer the practice stays to the published noise,
// and the less sure it is.
func TestNoiseIsDrawnTowardsThePublished(t *testing.T) {
	published := symmetry.DefaultModel()
	lastError, lastSpread := published.TypicalError, published.TrialSDLogSD
	for _, people := range []int{2, 10, 50, 400} {
		rng := rand.New(rand.NewPCG(20260309, 0))
		n := symmetry.NoiseOf(practice(rng, people, 0, 0.05, 0), published)
		if n.Model.TypicalError >= lastError || n.Model.TrialSDLogSD >= lastSpread {
			t.Errorf("%d people: error %.4f (before %.4f), spread %.4f (before %.4f)", people,
				n.Model.TypicalError, lastError, n.Model.TrialSDLogSD, lastSpread)
		}
		if n.OwnTypicalError >= n.Model.TypicalError {
			t.Errorf("%d people: own %.4f is not drawn up, %.4f", people, n.OwnTypicalError,
				n.Model.TypicalError)
		}
		lastError, lastSpread = n.Model.TypicalError, n.Model.TrialSDLogSD
	}
}

func TestNoiseOfDegenerateRecords(t *testing.T) {
	same := symmetry.Retest{FirstLeft: time.Minute, FirstRight: time.Minute,
		SecondLeft: time.Minute, SecondRight: time.Minute}
	tests := []struct {
		name    string
		retests []symmetry.Retest
		pairs   int
		hasOwn  bool
		hasICC  bool
	}{
		{"none", nil, 0, false, false},
		{"empty", []symmetry.Retest{{}, {FirstLeft: time.Minute}}, 0, false, false},
		{"negative", []symmetry.Retest{{FirstLeft: -1, SecondLeft: time.Minute}}, 0, false, false},
		{"one pair", []symmetry.Retest{same}, 2, false, false},
		{"all alike", []symmetry.Retest{same, same, same}, 6, true, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			n := symmetry.NoiseOf(tt.retests, symmetry.DefaultModel())
			if n.Pairs != tt.pairs || n.HasOwn != tt.hasOwn || n.HasICC != tt.hasICC {
				t.Errorf("pairs %d, own %v, ICC %v", n.Pairs, n.HasOwn, n.HasICC)
			}
			if !n.Working.IsFinite() || n.Model.TypicalError < 0.01 {
				t.Errorf("%+v", n)
			}
		})
	}
}
