package planning_test

import (
	"math"
	"testing"

	"evenhold/internal/planning"
	"evenhold/internal/symmetry"
)

// TestKeptNoise: what is kept comes back to a millionth, and nothing else is read as it.
func TestKeptNoise(t *testing.T) {
	m := symmetry.DefaultModel()
	m.TypicalError, m.TrialSD, m.TrialSDLogSD = 0.1234567, 0.1, 0
	got, ok := planning.KeptNoise(planning.NoiseText(m))
	if !ok || math.Abs(got.TypicalError-0.123457) > 1e-12 || got.TrialSD != 0.1 ||
		got.TrialSDLogSD != 0 || got.Level != m.Level {
		t.Errorf("kept %+v, %v", got, ok)
	}
	for _, text := range []string{"", "1", "1 2", "1 2 x", "1 2 -3", "1 2 3 4", "1 2 2000000"} {
		if _, ok := planning.KeptNoise(text); ok {
			t.Errorf("%q was read", text)
		}
	}
}
