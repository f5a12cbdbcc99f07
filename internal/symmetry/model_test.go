package symmetry_test

import (
	"math"
	"testing"

	"evenhold/internal/symmetry"
)

// "The impact of anthropometric characteristics on isometric trunk muscle endurance tests", PLoS
// One 2025;20(6):e0324787: typical error 12.1 to 24.1 % on the log scale. Read as a 90 % interval
// (our reading) the middle is √(ln 1.121 · ln 1.241) = √(0.11422·0.21592) = 0.15704, and the ends
// lie 1.645 SDs of its logarithm away: ln(0.21592/0.11422)/(2·1.645) = 0.63676/3.29 = 0.19354.
// Worked by hand.
func TestDefaultModelIsThePublishedNoise(t *testing.T) {
	m := symmetry.DefaultModel()
	for name, pair := range map[string][2]float64{
		"typical error": {m.TypicalError, .15704}, "trial SD": {m.TrialSD, .15704},
		"how unsure": {m.TrialSDLogSD, .19354},
	} {
		if math.Abs(pair[0]-pair[1]) > 1e-4 {
			t.Errorf("%s = %.5f, want %.5f", name, pair[0], pair[1])
		}
	}
}
