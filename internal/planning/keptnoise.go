package planning

import (
	"math"
	"strconv"
	"strings"

	"evenhold/internal/symmetry"
)

// NoiseText keeps what a practice's test noise differs by from the published one: the
// typical error, the error of a trial and how unsure that is, in millionths. A phone that
// holds one record only goes by what is kept with that record's latest test.
func NoiseText(m symmetry.Model) string {
	var parts []string
	for _, f := range []float64{m.TypicalError, m.TrialSD, m.TrialSDLogSD} {
		parts = append(parts, strconv.FormatInt(int64(math.Round(f*1e6)), 10))
	}
	return strings.Join(parts, " ")
}

// KeptNoise is the model that NoiseText kept; false for a text that it did not write.
func KeptNoise(text string) (symmetry.Model, bool) {
	parts := strings.Split(text, " ")
	m := symmetry.DefaultModel()
	into := []*float64{&m.TypicalError, &m.TrialSD, &m.TrialSDLogSD}
	if len(parts) != len(into) {
		return symmetry.DefaultModel(), false
	}
	for i, part := range parts {
		n, err := strconv.ParseInt(part, 10, 64)
		if err != nil || n < 0 || n > 1e6 {
			return symmetry.DefaultModel(), false
		}
		*into[i] = float64(n) / 1e6
	}
	return m, true
}
