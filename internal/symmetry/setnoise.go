package symmetry

import (
	"math"

	"evenhold/internal/reference"
	"evenhold/internal/working"
)

// The typical errors, in percent of a hold, that a practice may set by hand. Ours: the
// published ones run from 12.1 to 24.1 % (PLoS One 2025;20(6):e0324787). Below 5 % every
// difference would look real, above 40 % none would.
const (
	LeastSetPercent = 5
	MostSetPercent  = 40
)

// SetTo returns n with the typical error that a practice set by hand, in percent of a
// hold, in place of what its records lead to; the figures of its own records stay. All of
// it is put down to the trial and taken as exact, since nothing says how unsure it is.
// A percent outside the range changes nothing.
func (n Noise) SetTo(percent float64, source working.Source) Noise {
	if !(percent >= LeastSetPercent && percent <= MostSetPercent) {
		return n
	}
	m := &n.Model
	m.TypicalError = math.Log1p(percent / 100)
	m.TrialSD, m.TrialSDLogSD = m.TypicalError, 0
	m.Sources = []working.Source{source, reference.SourceOf("ours")}
	n.measure()
	n.Working = working.Working{
		Key: "working.test_noise", Unit: "%", Sources: []working.Source{source},
		Inputs:   []working.Input{{Key: "input.set_percent", Value: percent, Unit: "%"}},
		Cautions: []string{"caution.noise_set"},
	}
	n.Working.Steps = append([]working.Step{{
		Key: "step.set_error", Formula: "ln(1 + percent/100)", Value: m.TypicalError, Unit: "1",
	}}, n.smallest()...)
	return n
}

// measure works out the smallest changes that are beyond the model's noise.
func (n *Noise) measure() {
	n.MDC90 = z90 * math.Sqrt2 * n.Model.TypicalError
	n.MDC95 = z95 * math.Sqrt2 * n.Model.TypicalError
}

// smallest are the steps that show them.
func (n Noise) smallest() []working.Step {
	return []working.Step{
		{Key: "step.mdc90", Formula: "100·(exp(1.645·√2·TE) - 1)",
			Value: longerPercent(n.MDC90), Unit: "%"},
		{Key: "step.mdc95", Formula: "100·(exp(1.960·√2·TE) - 1)",
			Value: longerPercent(n.MDC95), Unit: "%"},
	}
}
