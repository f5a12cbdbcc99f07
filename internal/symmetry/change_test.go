package symmetry_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"evenhold/internal/symmetry"
)

func timed(holdS float64, stop symmetry.Stop) symmetry.Timed {
	return symmetry.Timed{Hold: time.Duration(holdS * float64(time.Second)), Stop: stop}
}

func ExampleChangeOf() {
	c := symmetry.ChangeOf(timed(60, symmetry.Position), timed(66, symmetry.Position), 1,
		symmetry.DefaultModel())
	fmt.Printf("%s: %.0f %%, %v\n", c.Verdict, c.Percent, c.Working.Cautions)
	// Output: within_noise: 10 %, [caution.first_retest]
}

// With a typical error of 10.95 s on 75 s the change beyond noise is 30.35 s:
// Biology 2022;11(7):1043, doi:10.3390/biology11071043. On the log scale that is
// 0.146, and 75·exp(±1.96·√2·0.146) is 112.4 s and 50.0 s.
func TestChangeVerdicts(t *testing.T) {
	m := symmetry.DefaultModel()
	m.TypicalError = 0.146
	p, limit, shoulder := symmetry.Position, symmetry.Limit, symmetry.ArmShoulder
	tests := []struct {
		name             string
		previous, latest symmetry.Timed
		want             symmetry.Verdict
	}{
		{"just inside, longer", timed(75, p), timed(112, p), symmetry.WithinNoise},
		{"just beyond, longer", timed(75, p), timed(113, p), symmetry.Longer},
		{"just inside, shorter", timed(75, p), timed(50.5, p), symmetry.WithinNoise},
		{"just beyond, shorter", timed(75, p), timed(49.5, p), symmetry.Shorter},
		{"a lower bound beyond is still longer", timed(75, p), timed(120, limit), symmetry.Longer},
		{"a lower bound inside tells nothing", timed(75, p), timed(80, limit), symmetry.CannotTell},
		{"a lower bound below tells nothing", timed(75, p), timed(30, shoulder),
			symmetry.CannotTell},
		{"from a lower bound down", timed(120, limit), timed(60, p), symmetry.Shorter},
		{"from a lower bound up", timed(60, shoulder), timed(120, p), symmetry.CannotTell},
		{"two lower bounds", timed(60, limit), timed(300, limit), symmetry.CannotTell},
		{"tester error", timed(60, symmetry.TesterError), timed(90, p), symmetry.CannotTell},
		{"no hold", timed(60, p), timed(0, p), symmetry.CannotTell},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := symmetry.ChangeOf(tt.previous, tt.latest, 3, m)
			if c.Verdict != tt.want {
				t.Errorf("verdict %s, want %s (log ratio %.3f, MDC95 %.3f)", c.Verdict, tt.want,
					c.LogRatio, c.MDC95)
			}
			if hasCaution(c.Working.Cautions, "caution.first_retest") {
				t.Error("the learning caution belongs to the first retest")
			}
		})
	}
}

// By its definition MDC95 is passed by one in twenty unchanged people.
func TestChangeIsWrongInOneOfTwenty(t *testing.T) {
	m := symmetry.DefaultModel()
	rng := rand.New(rand.NewPCG(20260310, 0))
	const people = 20000
	wrong := 0
	for range people {
		hold := func() symmetry.Timed {
			return timed(60*math.Exp(m.TypicalError*rng.NormFloat64()), symmetry.Position)
		}
		if symmetry.ChangeOf(hold(), hold(), 2, m).Verdict != symmetry.WithinNoise {
			wrong++
		}
	}
	if share := float64(wrong) / people; math.Abs(share-0.05) > 0.006 {
		t.Errorf("unchanged people called changed: %.2f %%, want 5 %%", 100*share)
	}
}
