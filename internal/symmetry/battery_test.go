package symmetry_test

import (
	"fmt"
	"math"
	"testing"

	"evenhold/internal/symmetry"
	"evenhold/internal/working"
)

func ExampleBattery_Ratios() {
	b := symmetry.Battery{
		Extensor: timed(146, symmetry.Position), Flexor: timed(144, symmetry.Position),
		Left: timed(97, symmetry.Position), Right: timed(94, symmetry.Position),
	}
	for _, r := range b.Ratios(symmetry.DefaultModel()) {
		fmt.Printf("%s %.2f %s\n", r.Key, r.Ratio, r.Verdict)
	}
	// Output:
	// ratio.right_left 0.97 cannot_tell
	// ratio.left_extensor 0.66 cannot_tell
	// ratio.right_extensor 0.64 cannot_tell
	// ratio.flexor_extensor 0.99 cannot_tell
}

// The bands (right/left within a factor 1.05, side/extensor to 0.75,
// flexor/extensor to 1.0) are often quoted, from memory. The reach of the noise
// is exp(1.645·√2·0.05) = 1.1233, worked by hand.
func TestBatteryVerdicts(t *testing.T) {
	p := symmetry.Position
	tests := []struct {
		name           string
		b              symmetry.Battery
		te             float64
		index          int
		want           symmetry.Verdict
		swallowsBandRL bool
	}{
		{"0.60·1.1233 = 0.674 is inside 0.75", symmetry.Battery{Left: timed(60, p),
			Extensor: timed(100, p)}, 0.05, 1, symmetry.InsideBand, true},
		{"0.70·1.1233 = 0.786 straddles 0.75", symmetry.Battery{Left: timed(70, p),
			Extensor: timed(100, p)}, 0.05, 1, symmetry.CannotTell, true},
		{"0.90/1.1233 = 0.801 is outside 0.75", symmetry.Battery{Right: timed(90, p),
			Extensor: timed(100, p)}, 0.05, 2, symmetry.OutsideBand, true},
		{"flexor twice the extensor", symmetry.Battery{Flexor: timed(200, p),
			Extensor: timed(100, p)}, 0.05, 3, symmetry.OutsideBand, true},
		{"even sides cannot be shown to be within 0.05", symmetry.Battery{Left: timed(90, p),
			Right: timed(90, p)}, 0.05, 0, symmetry.CannotTell, true},
		{"even sides with next to no noise", symmetry.Battery{Left: timed(90, p),
			Right: timed(90, p)}, 0.015, 0, symmetry.InsideBand, false},
		{"a lower bound is no ratio", symmetry.Battery{Left: timed(90, symmetry.Pain),
			Right: timed(30, p)}, 0.05, 0, symmetry.CannotTell, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := symmetry.DefaultModel()
			m.TypicalError = tt.te
			r := tt.b.Ratios(m)[tt.index]
			if r.Verdict != tt.want {
				t.Errorf("%s: %s, want %s (%.3f to %.3f)", r.Key, r.Verdict, tt.want, r.Low, r.High)
			}
			swallows := hasCaution(r.Working.Cautions, "caution.noise_swallows_band")
			if tt.index == 0 && swallows != tt.swallowsBandRL {
				t.Errorf("noise swallows band: %v, want %v", swallows, tt.swallowsBandRL)
			}
			if r.Working.Sources[0].Status != working.Memory {
				t.Errorf("the band is %q, want memory", r.Working.Sources[0].Status)
			}
		})
	}
}

// Swapping the sides turns right/left into its inverse and keeps the verdict.
func TestBatterySwap(t *testing.T) {
	m := symmetry.DefaultModel()
	m.TypicalError = 0.012
	for _, holds := range [][2]float64{{60, 61}, {60, 63.5}, {60, 90}, {61.3, 60}} {
		a := symmetry.Battery{Left: timed(holds[0], symmetry.Position),
			Right: timed(holds[1], symmetry.Position)}
		b := symmetry.Battery{Left: a.Right, Right: a.Left}
		x, y := a.Ratios(m)[0], b.Ratios(m)[0]
		if x.Verdict != y.Verdict || math.Abs(x.Ratio*y.Ratio-1) > 1e-12 {
			t.Errorf("%v: %s %v, swapped %s %v", holds, x.Verdict, x.Ratio, y.Verdict, y.Ratio)
		}
	}
}
