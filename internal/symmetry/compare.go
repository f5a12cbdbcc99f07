package symmetry

import (
	"math"

	"evenhold/internal/reference"
	"evenhold/internal/sides"
	"evenhold/internal/working"
)

// Verdict is the answer in one word; the phrase files say it to people.
type Verdict string

// The verdicts of Compare.
const (
	AboutEven       Verdict = "about_even"
	LargerThanNoise Verdict = "larger_than_noise"
	CannotTell      Verdict = "cannot_tell"
)

// How sure a verdict has to be. All three are our own choice, no source.
const (
	sideSure   = 0.99 // that the weaker side is the weaker one: leaves room for repeated looks
	evenOver10 = 0.25 // at most this probability of a gap over 10 %
	evenOver25 = 0.05 // and at most this of a gap over 25 %
)

// level is the probability that every interval of this package encloses.
const level = 0.90

// MoreTrialsCap is the most that MoreTrials says: this many or more.
const MoreTrialsCap = 12

// Comparison is what the trials tell about the two sides. Left and right are
// working sides.
type Comparison struct {
	Verdict Verdict
	Weaker  sides.Working // the side more likely to be the weaker; empty if neither is
	Sure    float64       // probability that Weaker is the weaker side, 0.5 to 1

	LogRatio float64 // ln(right/left) of the true endurance: median, and 90 % interval
	LogLow   float64
	LogHigh  float64

	ShorterPercent float64 // how much shorter Weaker holds than the other side: median
	LowPercent     float64 // 90 % interval of it; below 0: Weaker may be the longer
	HighPercent    float64

	Over10 float64 // probability that either side is more than 10 % shorter than the other
	Over25 float64 // the same for 25 %

	// MoreTrials is how many more trials of each side would tell, should they
	// look like these on average; 0 when the verdict is not CannotTell.
	MoreTrials int

	Left    Count
	Right   Count
	LeftOut int // trials that could not be read: tester errors, unknown words, slips
	Working working.Working
}

// Compare says what trials tell about the true difference of a person's two
// sides, under m (DefaultModel if m is out of range, with a caution). Trials
// should be of one variant and close enough in time to speak of one state; what
// changed both sides alike between visits does no harm. If a side has no usable
// trial the answer is CannotTell, and the numbers are those of the model alone.
func Compare(trials []Trial, m Model) Comparison {
	m, isOwn := m.orDefault()
	visits, counts, out := visitsOf(trials)
	c := Comparison{Left: counts[0], Right: counts[1], LeftOut: out}
	if counts[0] == (Count{}) || counts[1] == (Count{}) {
		visits = nil
	}
	p := newPosterior(visits, m)
	c.read(p)
	c.Verdict = verdictOf(c.Sure, c.Over10, c.Over25)
	if visits == nil {
		c.Verdict, c.Weaker = CannotTell, ""
	}
	if c.Verdict == CannotTell {
		c.MoreTrials = moreTrials(p)
	}
	c.Working = c.working(trials, p, m, isOwn)
	return c
}

func verdictOf(sure, over10, over25 float64) Verdict {
	switch {
	case over10 <= evenOver10 && over25 <= evenOver25:
		return AboutEven
	case sure >= sideSure:
		return LargerThanNoise
	}
	return CannotTell
}

// read fills in the numbers from the posterior.
func (c *Comparison) read(p posterior) {
	c.LogRatio = p.quantile(0.5)
	c.LogLow, c.LogHigh = p.quantile((1-level)/2), p.quantile((1+level)/2)
	c.Over10 = p.gapOver(0.10)
	c.Over25 = p.gapOver(0.25)
	leftWeaker := 1 - p.probabilityBelow(0)
	c.Sure = math.Max(leftWeaker, 1-leftWeaker)
	low, mid, high := c.LogLow, c.LogRatio, c.LogHigh
	switch {
	case math.Abs(leftWeaker-0.5) < 1e-6:
	case leftWeaker > 0.5:
		c.Weaker = sides.WorksLeft
	default:
		c.Weaker = sides.WorksRight
		low, mid, high = -c.LogHigh, -c.LogRatio, -c.LogLow
	}
	c.ShorterPercent = shorterPercent(mid)
	c.LowPercent, c.HighPercent = shorterPercent(low), shorterPercent(high)
}

// gapOver is the probability that one side is more than this fraction shorter
// than the other.
func (p posterior) gapOver(fraction float64) float64 {
	gap := -math.Log1p(-fraction)
	return p.probabilityBelow(-gap) + 1 - p.probabilityBelow(gap)
}

// moreTrials supposes that the estimate stays and each further pair of trials
// adds what the trial SD lets it add, and looks for the first verdict.
func moreTrials(p posterior) int {
	mid := math.Abs(p.mean)
	for more := 1; more < MoreTrialsCap; more++ {
		precision := 1/(p.sd*p.sd) + float64(more)/(2*p.trialSD*p.trialSD)
		sd := 1 / math.Sqrt(precision)
		over := func(fraction float64) float64 {
			gap := -math.Log1p(-fraction)
			return normalCDF((-gap-mid)/sd) + normalCDF((mid-gap)/sd)
		}
		if verdictOf(normalCDF(mid/sd), over(0.10), over(0.25)) != CannotTell {
			return more
		}
	}
	return MoreTrialsCap
}

func (c Comparison) working(trials []Trial, p posterior, m Model, isOwn bool) working.Working {
	w := working.Working{
		Key: "working.side_difference",
		Low: c.LowPercent, High: c.HighPercent, Level: level, Unit: "%",
		Sources: append(append([]working.Source(nil), m.Sources...),
			reference.SourceOf("asymmetry-2022")),
		Cautions: []string{"caution.no_injury_forecast"},
	}
	w.Inputs = append(trialInputs(trials), m.inputs()...)
	w.Steps = []working.Step{
		{Key: "step.trial_sd", Formula: "E[s | trials]", Value: p.trialSD, Unit: "1"},
		{Key: "step.log_ratio", Formula: "median of ln(R/L) given the trials: " +
			"ln hold = side + visit + trial error; a lower bound counts as P(hold > bound)",
			Value: c.LogRatio, Unit: "1"},
		{Key: "step.log_ratio_sd", Formula: "SD of ln(R/L) given the trials",
			Value: p.sd, Unit: "1"},
		{Key: "step.shorter", Formula: "100·(1 - exp(-|ln(R/L)|))",
			Value: c.ShorterPercent, Unit: "%"},
		{Key: "step.sure", Formula: "P(weaker side < other side)", Value: 100 * c.Sure, Unit: "%"},
		{Key: "step.over_10", Formula: "P(gap > 10 %)", Value: 100 * c.Over10, Unit: "%"},
		{Key: "step.over_25", Formula: "P(gap > 25 %)", Value: 100 * c.Over25, Unit: "%"},
	}
	caution := func(is bool, key string) {
		if is {
			w.Cautions = append(w.Cautions, key)
		}
	}
	caution(!isOwn, "caution.model_replaced")
	caution(c.Left == (Count{}) || c.Right == (Count{}), "caution.one_side_missing")
	caution(c.Left.Bounds+c.Right.Bounds > 0, "caution.lower_bounds")
	caution(c.LeftOut > 0, "caution.left_out")
	caution(c.Left.Values+c.Left.Bounds == 1 && c.Right.Values+c.Right.Bounds == 1,
		"caution.one_trial")
	return w
}

// trialInputs lists each trial, in the order given, under its working side.
func trialInputs(trials []Trial) []working.Input {
	var inputs []working.Input
	for _, t := range trials {
		in := working.Input{Key: "input.hold_left", Value: t.Hold.Seconds(), Unit: "s"}
		switch t.Side {
		case sides.WorksRight:
			in.Key = "input.hold_right"
		case sides.WorksLeft:
		default:
			in.Key = "input.hold_no_side"
		}
		switch t.reading() {
		case bound:
			in.Note = "note.lower_bound"
		case leftOut:
			in.Note = "note.left_out"
		}
		inputs = append(inputs, in)
	}
	return inputs
}
