package symmetry

import (
	"math"

	"evenhold/internal/working"
)

// The verdicts of ChangeOf, beside CannotTell.
const (
	Longer      Verdict = "longer"
	Shorter     Verdict = "shorter"
	WithinNoise Verdict = "within_noise"
)

// Change is what became of one side from one test to the next.
type Change struct {
	Verdict     Verdict
	LogRatio    float64 // ln(latest/previous); with a lower bound only a limit of it
	Percent     float64 // how much longer, in percent; below 0: shorter
	LowPercent  float64 // 90 % interval; equal to HighPercent when CannotTell
	HighPercent float64
	MDC95       float64 // as a log ratio
	Working     working.Working
}

// ChangeOf compares a side's latest hold with the one before, against the
// smallest change that is beyond test noise (95 %). Earlier counts the tests of
// this side and variant before the latest: with 1 the change may be learning,
// and the working says so. A hold that is a lower bound decides only where its
// true value could not change the answer.
func ChangeOf(previous, latest Timed, earlier int, m Model) Change {
	m, isOwn := m.orDefault()
	c := Change{Verdict: CannotTell, MDC95: z95 * math.Sqrt2 * m.TypicalError}
	before, after := previous.reading(), latest.reading()
	w := working.Working{Key: "working.change", Unit: "%", Sources: m.Sources}
	if !isOwn {
		w.Cautions = append(w.Cautions, "caution.model_replaced")
	}
	if before == leftOut || after == leftOut {
		w.Cautions = append(w.Cautions, "caution.left_out")
		c.Working = w
		return c
	}
	c.LogRatio = math.Log(latest.Hold.Seconds()) - math.Log(previous.Hold.Seconds())
	c.Percent = longerPercent(c.LogRatio)
	c.LowPercent, c.HighPercent = c.Percent, c.Percent
	switch {
	case c.LogRatio > c.MDC95 && before == value:
		c.Verdict = Longer
	case c.LogRatio < -c.MDC95 && after == value:
		c.Verdict = Shorter
	case before == value && after == value:
		c.Verdict = WithinNoise
	}
	if before == value && after == value {
		reach := z90 * math.Sqrt2 * m.TypicalError
		c.LowPercent = longerPercent(c.LogRatio - reach)
		c.HighPercent = longerPercent(c.LogRatio + reach)
		w.Low, w.High, w.Level = c.LowPercent, c.HighPercent, level
	} else {
		w.Cautions = append(w.Cautions, "caution.lower_bounds")
	}
	if earlier == 1 {
		w.Cautions = append(w.Cautions, "caution.first_retest")
	}
	w.Inputs = []working.Input{
		{Key: "input.hold_previous", Value: previous.Hold.Seconds(), Unit: "s",
			Note: boundNote(before)},
		{Key: "input.hold_latest", Value: latest.Hold.Seconds(), Unit: "s",
			Note: boundNote(after)},
		{Key: "input.typical_error", Value: m.TypicalError, Unit: "1"},
	}
	w.Steps = []working.Step{
		{Key: "step.log_change", Formula: "ln(latest/previous)", Value: c.LogRatio, Unit: "1"},
		{Key: "step.mdc95_log", Formula: "1.960·√2·TE", Value: c.MDC95, Unit: "1"},
		{Key: "step.change", Formula: "100·(latest/previous - 1)", Value: c.Percent, Unit: "%"},
	}
	c.Working = w
	return c
}

func boundNote(r reading) string {
	if r == bound {
		return "note.lower_bound"
	}
	return ""
}
