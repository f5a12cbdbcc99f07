package symmetry_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/internal/symmetry/simulated"
)

func trial(side sides.Working, holdS float64, stop symmetry.Stop, visit int) symmetry.Trial {
	return symmetry.Trial{Side: side, Stop: stop, Visit: visit,
		Hold: time.Duration(holdS * float64(time.Second))}
}

const (
	left  = sides.WorksLeft
	right = sides.WorksRight
)

func ExampleCompare() {
	c := symmetry.Compare([]symmetry.Trial{
		trial(left, 30, symmetry.Position, 1), trial(right, 80, symmetry.Position, 1),
		trial(left, 33, symmetry.GaveUp, 2), trial(right, 85, symmetry.Position, 2),
	}, symmetry.DefaultModel())
	fmt.Println(c.Verdict, "weaker:", c.Weaker, "more trials:", c.MoreTrials)
	// Output: larger_than_noise weaker: left more trials: 0
}

// The project's own requirement, no source: over 2,000 simulated people whose
// truth is drawn from the stated prior, the 90 % interval covers the true
// difference in 86 to 94 %, in each kind of record.
func TestIntervalCoverage(t *testing.T) {
	for i, crowd := range simulated.Varied() {
		t.Run(crowd.Name, func(t *testing.T) {
			tally := crowd.Ask(rand.New(rand.NewPCG(20260301, uint64(i))), symmetry.DefaultModel())
			covered, people := crowd.Share(tally.Covered), float64(crowd.People)
			t.Logf("covered %.1f %%; gap over 10 %%: said %.1f %%, true %.1f %%",
				covered, 100*tally.Said10/people, crowd.Share(tally.Over10))
			if crowd.People < 2000 || covered < 86 || covered > 94 {
				t.Errorf("90 %% interval covers %.1f %% of %d", covered, crowd.People)
			}
			if off := math.Abs(tally.Said10-float64(tally.Over10)) / people; off > 0.03 {
				t.Errorf("probability of a gap over 10 %% is off by %.3f on average", off)
			}
		})
	}
}

// For people whose sides are truly even, "larger than noise" may be said of at
// most one in twenty (the project's own requirement).
func TestEvenPeopleAreSeldomCalledUneven(t *testing.T) {
	for i, crowd := range simulated.Even() {
		t.Run(crowd.Name, func(t *testing.T) {
			tally := crowd.Ask(rand.New(rand.NewPCG(20260302, uint64(i))), symmetry.DefaultModel())
			t.Logf("called uneven %.2f %%, even %.1f %%",
				crowd.Share(tally.Uneven), crowd.Share(tally.Even))
			if crowd.People < 2000 || tally.Uneven*20 > crowd.People {
				t.Errorf("%d of %d even people were called uneven", tally.Uneven, crowd.People)
			}
		})
	}
}

// A coach looks after every visit, and six looks give noise six chances. No
// source sets a limit for that; 7 % over a whole series is what we hold.
func TestRepeatedLooks(t *testing.T) {
	m := symmetry.DefaultModel()
	rng := rand.New(rand.NewPCG(20260305, 0))
	const people = 1500
	wrong := 0
	for range people {
		trials := simulated.NewPerson(rng, m, 0).Trials(6, 0)
		for n := 2; n <= len(trials); n += 2 {
			if symmetry.Compare(trials[:n], m).Verdict == symmetry.LargerThanNoise {
				wrong++
				break
			}
		}
	}
	t.Logf("ever called uneven in six looks: %.2f %%", 100*float64(wrong)/people)
	if 100*wrong > 7*people {
		t.Errorf("%d of %d even people were called uneven at least once", wrong, people)
	}
}

// Without lower bounds and with a known trial SD the answer is a normal
// distribution's conditional mean and variance. Here it is worked out from the
// whole covariance matrix with gonum, a general-purpose numerics library.
func TestPosteriorAgainstConditionalNormal(t *testing.T) {
	m := symmetry.DefaultModel()
	m.TrialSDLogSD = 0
	trials := []symmetry.Trial{
		trial(left, 52, symmetry.Position, 3), trial(right, 61, symmetry.Position, 3),
		trial(right, 75, symmetry.GaveUp, 3), trial(left, 40, symmetry.Position, 5),
		trial(left, 47, symmetry.Position, 8), trial(right, 44, symmetry.Position, 8),
	}
	n := len(trials)
	sign := func(t symmetry.Trial) float64 {
		if t.Side == right {
			return 0.5
		}
		return -0.5
	}
	cov, off := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	cross := mat.NewVecDense(n, nil)
	for i, a := range trials {
		off.SetVec(i, math.Log(a.Hold.Seconds())-math.Log(m.Level.Seconds()))
		cross.SetVec(i, sign(a)*m.SideSD*m.SideSD)
		for j, b := range trials {
			v := m.LevelSD*m.LevelSD + sign(a)*sign(b)*m.SideSD*m.SideSD
			if a.Visit == b.Visit {
				v += m.VisitSD * m.VisitSD
			}
			if i == j {
				v += m.TrialSD * m.TrialSD
			}
			cov.SetSym(i, j, v)
		}
	}
	var gain mat.VecDense
	if err := gain.SolveVec(cov, cross); err != nil {
		t.Fatal(err)
	}
	mean := mat.Dot(&gain, off)
	sd := math.Sqrt(m.SideSD*m.SideSD - mat.Dot(&gain, cross))

	c := symmetry.Compare(trials, m)
	const z95 = 1.6448536269514722 // normal quantile at 0.95, from memory
	for name, pair := range map[string][2]float64{
		"median": {c.LogRatio, mean},
		"low":    {c.LogLow, mean - z95*sd},
		"high":   {c.LogHigh, mean + z95*sd},
	} {
		if math.Abs(pair[0]-pair[1]) > 0.002*sd {
			t.Errorf("%s = %.6f, want %.6f (SD %.4f)", name, pair[0], pair[1], sd)
		}
	}
}

// With lower bounds and an unknown trial SD the answer is compared with brute
// force: truths drawn from the prior and weighted by how well they explain the
// trials.
func TestPosteriorAgainstBruteForce(t *testing.T) {
	m := symmetry.DefaultModel()
	trials := []symmetry.Trial{
		trial(left, 35, symmetry.Position, 1), trial(right, 45, symmetry.ArmShoulder, 1),
		trial(left, 50, symmetry.Pain, 2), trial(right, 55, symmetry.Position, 2),
	}
	rng := rand.New(rand.NewPCG(20260303, 0))
	const draws = 1_500_000
	var total, mean, square, over25 float64
	for range draws {
		mid := math.Log(m.Level.Seconds()) + m.LevelSD*rng.NormFloat64()
		d := m.SideSD * rng.NormFloat64()
		sd := m.TrialSD * math.Exp(m.TrialSDLogSD*rng.NormFloat64())
		day := [2]float64{m.VisitSD * rng.NormFloat64(), m.VisitSD * rng.NormFloat64()}
		weight := 1.0
		for _, tr := range trials {
			at := mid - d/2
			if tr.Side == right {
				at = mid + d/2
			}
			z := (math.Log(tr.Hold.Seconds()) - at - day[tr.Visit-1]) / sd
			if tr.Stop == symmetry.Position {
				weight *= math.Exp(-z*z/2) / sd
			} else {
				weight *= math.Erfc(z/math.Sqrt2) / 2
			}
		}
		total += weight
		mean += weight * d
		square += weight * d * d
		if math.Abs(d) > -math.Log(0.75) {
			over25 += weight
		}
	}
	mean /= total
	sd := math.Sqrt(square/total - mean*mean)
	c := symmetry.Compare(trials, m)
	if math.Abs(c.LogRatio-mean) > 0.05*sd {
		t.Errorf("median %.4f, brute-force mean %.4f (SD %.4f)", c.LogRatio, mean, sd)
	}
	if got := (c.LogHigh - c.LogLow) / (2 * 1.645); math.Abs(got-sd) > 0.05*sd {
		t.Errorf("SD from the interval %.4f, by brute force %.4f", got, sd)
	}
	if math.Abs(c.Over25-over25/total) > 0.01 {
		t.Errorf("P(gap > 25 %%) = %.4f, by brute force %.4f", c.Over25, over25/total)
	}
}

func TestCompareVerdicts(t *testing.T) {
	var evenVisits, cappedBoth []symmetry.Trial
	for v := range 8 {
		evenVisits = append(evenVisits, trial(left, 60, symmetry.Position, v),
			trial(right, 60.5, symmetry.Position, v))
		cappedBoth = append(cappedBoth, trial(left, 120, symmetry.Limit, v),
			trial(right, 120, symmetry.Limit, v))
	}
	tests := []struct {
		name   string
		trials []symmetry.Trial
		want   symmetry.Verdict
		weaker sides.Working
	}{
		{"nothing", nil, symmetry.CannotTell, ""},
		{"one side", []symmetry.Trial{trial(left, 60, symmetry.Position, 1)},
			symmetry.CannotTell, ""},
		// Published: one trial a side cannot hold up "within 5 %": MDC95 at 75 s is
		// 30 s. Biology 2022;11(7):1043, doi:10.3390/biology11071043.
		{"one even trial a side", []symmetry.Trial{trial(left, 60, symmetry.Position, 1),
			trial(right, 60, symmetry.Position, 1)}, symmetry.CannotTell, ""},
		{"20 s of 75 s is inside the noise", []symmetry.Trial{
			trial(left, 55, symmetry.Position, 1), trial(right, 75, symmetry.Position, 1)},
			symmetry.CannotTell, left},
		{"eight even visits", evenVisits, symmetry.AboutEven, left},
		{"both at the limit each time", cappedBoth, symmetry.CannotTell, ""},
		{"a lower bound far above a value", []symmetry.Trial{
			trial(right, 20, symmetry.Position, 1), trial(left, 120, symmetry.Limit, 1)},
			symmetry.LargerThanNoise, right},
		{"a lower bound far below a value tells nothing", []symmetry.Trial{
			trial(right, 20, symmetry.ArmShoulder, 1), trial(left, 120, symmetry.Position, 1)},
			symmetry.CannotTell, right},
		{"tester errors only", []symmetry.Trial{trial(left, 20, symmetry.TesterError, 1),
			trial(right, 90, symmetry.TesterError, 1)}, symmetry.CannotTell, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := symmetry.Compare(tt.trials, symmetry.DefaultModel())
			if c.Verdict != tt.want || c.Weaker != tt.weaker {
				t.Errorf("verdict %s, weaker %q; want %s, %q (%.3f to %.3f, over 10 %%: %.2f)",
					c.Verdict, c.Weaker, tt.want, tt.weaker, c.LogLow, c.LogHigh, c.Over10)
			}
			if (c.MoreTrials > 0) != (tt.want == symmetry.CannotTell) {
				t.Errorf("more trials = %d with verdict %s", c.MoreTrials, c.Verdict)
			}
		})
	}
}

// Doing as many more trials as MoreTrials says, with the same ratio, must bring
// a verdict (within one trial: the prediction is by a normal approximation), and
// much fewer must not.
func TestMoreTrialsKeepsItsWord(t *testing.T) {
	m := symmetry.DefaultModel()
	m.TrialSDLogSD = 0
	for _, r := range []float64{1, 1.3, 1.45, 1.6} {
		var trials []symmetry.Trial
		add := func(n int) {
			for range n {
				visit := len(trials)
				trials = append(trials, trial(left, 60, symmetry.Position, visit),
					trial(right, 60*r, symmetry.Position, visit))
			}
		}
		add(1)
		first := symmetry.Compare(trials, m)
		if first.Verdict != symmetry.CannotTell {
			t.Fatalf("ratio %v: %s after one trial", r, first.Verdict)
		}
		add(first.MoreTrials + 1)
		if c := symmetry.Compare(trials, m); c.Verdict == symmetry.CannotTell {
			t.Errorf("ratio %v: still cannot tell after %d more", r, first.MoreTrials+1)
		}
	}
}

// Swapping the sides must swap the answer and nothing else; so must giving the
// trials in another order change nothing.
func TestCompareSwapAndOrder(t *testing.T) {
	m := symmetry.DefaultModel()
	rng := rand.New(rand.NewPCG(20260304, 0))
	for i := range 40 {
		trials := simulated.NewPerson(rng, m, 0.3*rng.NormFloat64()).Trials(1+i%4, 0.425)
		c := symmetry.Compare(trials, m)
		swapped := append([]symmetry.Trial(nil), trials...)
		for j := range swapped {
			swapped[j].Side = swapped[j].Side.Other()
		}
		rng.Shuffle(len(swapped), func(a, b int) {
			swapped[a], swapped[b] = swapped[b], swapped[a]
		})
		s := symmetry.Compare(swapped, m)
		near := func(a, b float64) bool { return math.Abs(a-b) < 1e-6 }
		if s.Weaker != c.Weaker.Other() || s.Verdict != c.Verdict ||
			!near(s.LogRatio, -c.LogRatio) || !near(s.LogLow, -c.LogHigh) ||
			!near(s.ShorterPercent, c.ShorterPercent) || !near(s.Over10, c.Over10) {
			t.Errorf("person %d: %+v, swapped %+v", i, c, s)
		}
	}
}

func TestCompareReplacesAnImpossibleModel(t *testing.T) {
	trials := []symmetry.Trial{trial(left, 50, symmetry.Position, 1),
		trial(right, 60, symmetry.Position, 1)}
	want := symmetry.Compare(trials, symmetry.DefaultModel())
	bad := symmetry.DefaultModel()
	bad.TrialSD = math.NaN()
	for _, m := range []symmetry.Model{{}, bad} {
		c := symmetry.Compare(trials, m)
		if c.LogRatio != want.LogRatio || !hasCaution(c.Working.Cautions, "caution.model_replaced") {
			t.Errorf("log ratio %v, cautions %v", c.LogRatio, c.Working.Cautions)
		}
	}
}

func hasCaution(cautions []string, key string) bool {
	for _, c := range cautions {
		if c == key {
			return true
		}
	}
	return false
}
