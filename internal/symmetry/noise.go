package symmetry

import (
	"math"
	"time"

	"evenhold/internal/reference"
	"evenhold/internal/working"
)

// Retest is one person's test of both working sides, done twice with the same
// variant and no training between. A hold that was not done, or that is only a
// lower bound, is 0.
type Retest struct {
	FirstLeft, FirstRight   time.Duration
	SecondLeft, SecondRight time.Duration
}

// Noise is the test noise of a practice: its own figures, and what it should
// work with, drawn towards the published noise as long as its own records are
// few. Errors and SDs are of natural logarithms.
type Noise struct {
	Pairs     int // sides tested twice
	Contrasts int // people with both sides tested twice

	HasOwn          bool    // Pairs is 3 or more: the next four fields are set
	OwnTypicalError float64 // SD of the change of one side, over √2
	ICC             float64 // of two tests of one side, two-way fixed, one score
	HasICC          bool    // false when the people are too alike for an ICC
	SEM             float64 // SD·√(1-ICC); 0 without an ICC
	Learning        float64 // mean ln(second/first); above 0: second tests are longer

	Model   Model // the model given, with the practice's noise drawn in
	MDC90   float64
	MDC95   float64 // smallest change of one side that is beyond noise, as a log ratio
	Working working.Working
}

// fewest is the least number of pairs that own figures are shown from.
const fewest = 3

// NoiseOf works out a practice's test noise from its repeated tests. With no
// usable pair the answer is the noise of m. The weight of m against own records
// is that of as many pairs as its TrialSDLogSD is worth: a variance known from n
// differences has a log SD of its root of 1/√(2n).
func NoiseOf(retests []Retest, m Model) Noise {
	m, isOwn := m.orDefault()
	var scores [][]float64
	var changes, contrasts []float64
	for _, r := range retests {
		left, hasLeft := logChange(r.FirstLeft, r.SecondLeft)
		right, hasRight := logChange(r.FirstRight, r.SecondRight)
		if hasLeft {
			changes = append(changes, left)
			scores = append(scores, logs(r.FirstLeft, r.SecondLeft))
		}
		if hasRight {
			changes = append(changes, right)
			scores = append(scores, logs(r.FirstRight, r.SecondRight))
		}
		if hasLeft && hasRight {
			contrasts = append(contrasts, right-left)
		}
	}
	n := Noise{Pairs: len(changes), Contrasts: len(contrasts), Model: m}
	mean, variance := moments(changes)
	if n.Pairs >= fewest {
		n.HasOwn, n.Learning = true, mean
		n.OwnTypicalError = math.Sqrt(variance / 2)
		if a, err := AgreementOf(scores); err == nil {
			n.HasICC, n.ICC = true, a.ICC31
			_, first := moments(column(scores, 0))
			_, second := moments(column(scores, 1))
			n.SEM = math.Sqrt((first + second) / 2 * math.Max(0, 1-n.ICC))
		}
	}
	n.draw(variance, contrasts)
	n.measure()
	n.Working = n.working(m, isOwn)
	return n
}

// draw mixes the model's noise with the practice's own, each weighted by the
// differences it rests on.
func (n *Noise) draw(variance float64, contrasts []float64) {
	m := &n.Model
	spread := math.Max(m.TrialSDLogSD, 0.05) // a stated noise outweighs 200 pairs at most
	weight := 1 / (2 * spread * spread)
	if n.Pairs > 1 {
		own := float64(n.Pairs - 1)
		m.TypicalError = math.Sqrt(
			(weight*square(m.TypicalError) + own*variance/2) / (weight + own))
	}
	// (R₂-L₂)-(R₁-L₁) holds four trial errors and no visit effect. No side is
	// expected to learn more than the other, so its mean is zero.
	own := float64(len(contrasts))
	var squares float64
	for _, c := range contrasts {
		squares += c * c
	}
	if own > 0 {
		m.TrialSD = math.Sqrt((weight*square(m.TrialSD) + squares/4) / (weight + own))
		m.TrialSDLogSD = 1 / math.Sqrt(2*(weight+own))
	}
	m.TypicalError = math.Min(math.Max(m.TypicalError, 0.01), 1)
	m.TrialSD = math.Min(math.Max(m.TrialSD, 0.01), 1)
}

func (n Noise) working(given Model, isOwn bool) working.Working {
	w := working.Working{
		Key: "working.test_noise", Unit: "%",
		Sources: append(append([]working.Source(nil), given.Sources...),
			reference.SourceOf("icc-1979")),
		Inputs: []working.Input{
			{Key: "input.pairs", Value: float64(n.Pairs), Unit: "1"},
			{Key: "input.contrasts", Value: float64(n.Contrasts), Unit: "1"},
			{Key: "input.typical_error", Value: given.TypicalError, Unit: "1"},
			{Key: "input.trial_sd", Value: given.TrialSD, Unit: "1"},
		},
	}
	if n.HasOwn {
		w.Steps = append(w.Steps,
			working.Step{Key: "step.own_typical_error", Formula: "SD(ln second - ln first)/√2",
				Value: n.OwnTypicalError, Unit: "1"},
			working.Step{Key: "step.learning", Formula: "100·(exp(mean ln(second/first)) - 1)",
				Value: longerPercent(n.Learning), Unit: "%"})
	} else {
		w.Cautions = append(w.Cautions, "caution.too_few_pairs")
	}
	if n.HasICC {
		w.Steps = append(w.Steps,
			working.Step{Key: "step.icc", Formula: "ICC(3,1) = (MSrows - MSres)/(MSrows + MSres)",
				Value: n.ICC, Unit: "1"},
			working.Step{Key: "step.sem", Formula: "SEM = SD·√(1 - ICC)",
				Value: n.SEM, Unit: "1"})
	}
	w.Steps = append(w.Steps,
		working.Step{Key: "step.typical_error", Value: n.Model.TypicalError, Unit: "1",
			Formula: "√((w·TE² + (n-1)·own TE²)/(w + n - 1)), w = 1/(2·spread²)"})
	w.Steps = append(w.Steps, n.smallest()...)
	if !isOwn {
		w.Cautions = append(w.Cautions, "caution.model_replaced")
	}
	return w
}

func logChange(first, second time.Duration) (change float64, ok bool) {
	for _, hold := range []time.Duration{first, second} {
		if hold < shortest || hold > longest {
			return 0, false
		}
	}
	return math.Log(second.Seconds()) - math.Log(first.Seconds()), true
}

func logs(first, second time.Duration) []float64 {
	return []float64{math.Log(first.Seconds()), math.Log(second.Seconds())}
}

func column(scores [][]float64, j int) []float64 {
	var values []float64
	for _, row := range scores {
		values = append(values, row[j])
	}
	return values
}

// moments returns the mean and the variance with n-1; 0 where there are too few.
func moments(values []float64) (mean, variance float64) {
	n := float64(len(values))
	for _, v := range values {
		mean += v / n
	}
	if n < 2 {
		return mean, 0
	}
	for _, v := range values {
		variance += square(v-mean) / (n - 1)
	}
	return mean, variance
}
