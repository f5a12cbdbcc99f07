package symmetry

import (
	"math"
	"time"

	"evenhold/internal/reference"
	"evenhold/internal/working"
)

// The verdicts of a Forecast.
const (
	TooFewTests Verdict = "too_few_tests"
	Reached     Verdict = "reached"
	InSight     Verdict = "in_sight"
	NotInSight  Verdict = "not_in_sight"
)

// Never stands for a day that does not come within the horizon.
const Never = -1

// Forecast says when the true endurance of a side is at a target. Days count
// from the last test; Never: not within the horizon.
type Forecast struct {
	Verdict      Verdict
	EarliestDays int // first day with 5 % probability of being at the target
	LikelyDays   int // with 50 %
	LatestDays   int // with 95 %
	HorizonDays  int // how far was looked
	Working      working.Working
}

// The forecast looks no further ahead than the record reaches back, and in any
// case four weeks and no more than 26 (our own choice, no source).
const (
	nearestHorizonDays  = 28
	farthestHorizonDays = 182
	fewestDays          = 3
)

// At returns the level of the side on a day after the last test, with its 90 %
// interval, and false for a day before, or when no test is known. More than 26
// weeks ahead it stays at 26 weeks.
func (t Trend) At(day int) (Level, bool) {
	if len(t.Levels) == 0 || day < t.day {
		return Level{}, false
	}
	ahead := math.Min(float64(day)-float64(t.day), farthestHorizonDays)
	l := newLevel(day, t.last.after(ahead/7, t.wander))
	l.IsExtrapolated = day > t.day
	return l, true
}

// Forecast says when the side will be at target, should it go on as it has. It
// refuses with TooFewTests below three different days with a hold read as a
// value, and a target that is no hold is NotInSight.
func (t Trend) Forecast(target time.Duration) Forecast {
	f := Forecast{
		Verdict: NotInSight, EarliestDays: Never, LikelyDays: Never, LatestDays: Never,
		HorizonDays: min(max(t.span, nearestHorizonDays), farthestHorizonDays),
	}
	isHold := target >= shortest && target <= longest
	switch {
	case t.Days < fewestDays:
		f.Verdict = TooFewTests
	case isHold:
		f.search(t, math.Log(target.Seconds()))
	}
	f.Working = f.working(t, target)
	return f
}

func (f *Forecast) search(t Trend, target float64) {
	marks := []struct {
		p    float64
		days *int
	}{{0.05, &f.EarliestDays}, {0.50, &f.LikelyDays}, {0.95, &f.LatestDays}}
	for ahead := 0; ahead <= f.HorizonDays; ahead++ {
		s := t.last.after(float64(ahead)/7, t.wander)
		p := normalCDF((s.level - target) / math.Sqrt(math.Max(s.ll, 1e-12)))
		for _, mark := range marks {
			if *mark.days == Never && p >= mark.p {
				*mark.days = ahead
			}
		}
	}
	switch {
	case f.LatestDays == 0:
		f.Verdict = Reached
	case f.LikelyDays != Never:
		f.Verdict = InSight
	}
}

func (f Forecast) working(t Trend, target time.Duration) working.Working {
	w := working.Working{
		Key: "working.forecast", Unit: "d",
		Sources: []working.Source{reference.SourceOf("ours")},
		Inputs: []working.Input{
			{Key: "input.target", Value: target.Seconds(), Unit: "s"},
			{Key: "input.test_days", Value: float64(t.Days), Unit: "1"},
			{Key: "input.horizon", Value: float64(f.HorizonDays), Unit: "d"},
		},
		Cautions: []string{"caution.forecast_goes_on"},
	}
	if f.Verdict == TooFewTests {
		w.Cautions = append(w.Cautions, "caution.three_tests")
		return w
	}
	w.Steps = []working.Step{
		{Key: "step.level_now", Formula: "exp(level)",
			Value: holdOf(t.last.level).Seconds(), Unit: "s"},
		{Key: "step.weekly", Formula: "100·(exp(drift) - 1) a week",
			Value: t.WeeklyPercent, Unit: "%"},
		{Key: "step.likely_days", Value: float64(f.LikelyDays), Unit: "d",
			Formula: "first day with P(level ≥ ln target) ≥ 0.5; -1: not within the horizon"},
	}
	if f.EarliestDays != Never && f.LatestDays != Never {
		w.Low, w.High, w.Level = float64(f.EarliestDays), float64(f.LatestDays), level
	}
	return w
}
