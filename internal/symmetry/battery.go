package symmetry

import (
	"math"

	"evenhold/internal/reference"
	"evenhold/internal/working"
)

// Battery is one session's trunk holds. Left and Right are the side bridge by
// working side. A hold that was not done is the zero Timed.
type Battery struct {
	Extensor, Flexor Timed
	Left, Right      Timed
}

// The verdicts of a Ratio, beside CannotTell.
const (
	InsideBand  Verdict = "inside_band"
	OutsideBand Verdict = "outside_band"
)

// Ratio is one ratio of the battery beside the band that is often quoted for it.
// The bands are remembered, not checked against their origin, and test noise
// swallows the first of them.
type Ratio struct {
	Key     string // message key: "ratio.right_left" and so on
	Ratio   float64
	Low     float64 // 90 % interval from test noise
	High    float64
	BandLow float64 // 0: no lower end
	BandTop float64
	// Verdict is InsideBand or OutsideBand only when the whole interval lies
	// there; else CannotTell, as when a hold is missing or a lower bound. In the
	// latter case Ratio and its interval are 0 if there is no ratio of two values.
	Verdict Verdict
	Working working.Working
}

// Ratios returns the four ratios of the battery, always in the same order: right
// over left, left over extensor, right over extensor, flexor over extensor.
func (b Battery) Ratios(m Model) []Ratio {
	m, isOwn := m.orDefault()
	even := reference.Must("band.right_left")
	side := reference.Must("band.side_extensor")
	flexor := reference.Must("band.flexor_extensor")
	// "Within 0.05 of 1" is taken as a factor of 1.05 either way: on the log scale
	// a swap of the sides changes nothing.
	top := 1 + even.Value
	return []Ratio{
		newRatio("ratio.right_left", b.Right, b.Left, 1/top, top, even, m, isOwn),
		newRatio("ratio.left_extensor", b.Left, b.Extensor, 0, side.Value, side, m, isOwn),
		newRatio("ratio.right_extensor", b.Right, b.Extensor, 0, side.Value, side, m, isOwn),
		newRatio("ratio.flexor_extensor", b.Flexor, b.Extensor, 0, flexor.Value, flexor, m, isOwn),
	}
}

func newRatio(key string, over, under Timed, low, top float64, band reference.Number,
	m Model, isOwn bool) Ratio {
	r := Ratio{Key: key, BandLow: low, BandTop: top, Verdict: CannotTell}
	r.Working = working.Working{
		Key: "working." + key, Unit: "1",
		Inputs: []working.Input{
			{Key: "input.hold_over", Value: over.Hold.Seconds(), Unit: "s",
				Note: boundNote(over.reading())},
			{Key: "input.hold_under", Value: under.Hold.Seconds(), Unit: "s",
				Note: boundNote(under.reading())},
			{Key: "input.typical_error", Value: m.TypicalError, Unit: "1"},
			band.Working("input.band"),
		},
		Sources:  append([]working.Source{band.Source}, m.Sources...),
		Cautions: []string{"caution.often_quoted", "caution.noise_of_other_tests"},
	}
	if !isOwn {
		r.Working.Cautions = append(r.Working.Cautions, "caution.model_replaced")
	}
	if over.reading() != value || under.reading() != value {
		r.Working.Cautions = append(r.Working.Cautions, "caution.ratio_not_defined")
		return r
	}
	reach := math.Exp(z90 * math.Sqrt2 * m.TypicalError)
	r.Ratio = over.Hold.Seconds() / under.Hold.Seconds()
	r.Low, r.High = r.Ratio/reach, r.Ratio*reach
	switch {
	case r.Low >= low && r.High <= top:
		r.Verdict = InsideBand
	case r.High < low || r.Low > top:
		r.Verdict = OutsideBand
	}
	r.Working.Low, r.Working.High, r.Working.Level = r.Low, r.High, level
	r.Working.Steps = []working.Step{
		{Key: "step.ratio", Formula: "hold/hold", Value: r.Ratio, Unit: "1"},
		{Key: "step.reach", Formula: "exp(1.645·√2·TE)", Value: reach, Unit: "1"},
	}
	if low > 0 && reach*reach > top/low {
		r.Working.Cautions = append(r.Working.Cautions, "caution.noise_swallows_band")
	}
	return r
}
