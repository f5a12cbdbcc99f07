package progression

import (
	"errors"
	"math"
	"time"

	"evenhold/internal/sides"
	"evenhold/internal/working"
)

// ErrNotFinite is returned for a load or moment that is negative, infinite or
// not a number.
var ErrNotFinite = errors.New("this is not a size: give a finite number of 0 or more")

var (
	sessionLoadSource = working.Source{
		Title: "A new approach to monitoring exercise training",
		Where: "J Strength Cond Res 15(1):109-115", Year: 2001, Status: working.Seen,
	}
	monotonySource = working.Source{
		Where: "Med Sci Sports Exerc 30(7):1164-1168", Year: 1998, Status: working.Seen,
	}
)

// SessionLoad returns effort (0-10) × minutes, in arbitrary units. An effort or
// a length outside its bound is an *OutOfBounds.
//
// A new approach to monitoring exercise training, J Strength Cond Res
// 2001;15(1):109-115.
func SessionLoad(effort int, length time.Duration) (float64, error) {
	if err := Check(Effort, int64(effort)); err != nil {
		return 0, err
	}
	if err := Check(SessionMS, length.Milliseconds()); err != nil {
		return 0, err
	}
	return float64(effort) * length.Minutes(), nil
}

// Week is the load of seven days in arbitrary units. Monotony and Strain are
// meaningless unless Defined: they are not when every day was alike.
type Week struct {
	Total    float64
	Monotony float64
	Strain   float64
	Defined  bool
	Working  working.Working
}

// WeekOf adds up seven daily loads; a rest day is 0. Monotony is mean / SD and
// strain is total × monotony: Med Sci Sports Exerc 1998;30(7):1164-1168. The
// paper does not say which SD; we divide by n−1 and print it. These are
// information, and forecast no injury. A day that is not a finite number of 0 or
// more is ErrNotFinite.
func WeekOf(days [7]float64) (Week, error) {
	var w Week
	inputs := make([]working.Input, len(days))
	for i, d := range days {
		if !isSize(d) {
			return Week{}, ErrNotFinite
		}
		w.Total += d
		inputs[i] = working.Input{Key: "working.day_load", Value: d, Unit: "1"}
	}
	mean, sumSq := w.Total/7, 0.0
	for _, d := range days {
		sumSq += (d - mean) * (d - mean)
	}
	sd := math.Sqrt(sumSq / 6)
	steps := []working.Step{
		{Key: "working.week_total", Formula: "Σ day", Value: w.Total, Unit: "1"},
		{Key: "working.day_mean", Formula: "Σ day / 7", Value: mean, Unit: "1"},
		{Key: "working.day_sd", Formula: "√(Σ(day − mean)² / (7 − 1))", Value: sd, Unit: "1"},
	}
	w.Defined = !allAlike(days)
	if w.Defined {
		w.Monotony = mean / sd
		w.Strain = w.Total * w.Monotony
		steps = append(steps,
			working.Step{Key: "working.monotony", Formula: "mean / SD", Value: w.Monotony, Unit: "1"},
			working.Step{Key: "working.strain", Formula: "total × monotony", Value: w.Strain,
				Unit: "1"})
	}
	w.Working = working.Working{
		Key: "working.week", Inputs: inputs, Steps: steps, Unit: "1",
		Sources:  []working.Source{sessionLoadSource, monotonySource},
		Cautions: []string{"working.week.caution"},
	}
	return w, nil
}

// allAlike asks the days themselves: rounding in the mean can leave a tiny SD
// for seven equal days.
func allAlike(days [7]float64) bool {
	for _, d := range days {
		if d != days[0] {
			return false
		}
	}
	return true
}

// mostDayLoad is far above any day (10 × 24 h in minutes is 14,400) and keeps
// squares finite.
const mostDayLoad = 1e6

func isSize(v float64) bool { return v >= 0 && v <= mostDayLoad }

// Work is one stretch of sideways work of one side: the side-bending moment at
// the low back, in newton metres, held for Time on a Day (whole days from any
// fixed day).
type Work struct {
	Day      int
	Works    sides.Working
	MomentNM float64
	Time     time.Duration
}

// SideWork is the moment × time of each working side over a week, in N·m·s.
// LeftShare is the left side's part, 0 to 1, and only meaningful when Shared:
// without any work there is no share.
type SideWork struct {
	LeftNMS, RightNMS float64
	LeftShare         float64
	Shared            bool
}

// WeekWork adds up the work of the seven days that end with lastDay. Work of
// other days is left out. A moment that is not a finite number of 0 or more, or
// a negative time, is ErrNotFinite; an unknown side is sides.ErrUnknown.
func WeekWork(work []Work, lastDay int) (SideWork, error) {
	var sum SideWork
	for _, w := range work {
		if !isSize(w.MomentNM) || w.Time < 0 {
			return SideWork{}, ErrNotFinite
		}
		if _, err := sides.ParseWorking(string(w.Works)); err != nil {
			return SideWork{}, err
		}
		if w.Day > lastDay || w.Day <= lastDay-daysInWeek {
			continue
		}
		if w.Works == sides.WorksLeft {
			sum.LeftNMS += w.MomentNM * w.Time.Seconds()
		} else {
			sum.RightNMS += w.MomentNM * w.Time.Seconds()
		}
	}
	if total := sum.LeftNMS + sum.RightNMS; total > 0 {
		sum.LeftShare, sum.Shared = sum.LeftNMS/total, true
	}
	return sum, nil
}

// WeekChangePercent is the change from one week's total to the next, in percent;
// false when the earlier week had none. It is information only.
func WeekChangePercent(before, now float64) (float64, bool) {
	if !isSum(before) || !isSum(now) || before == 0 {
		return 0, false
	}
	change := (now/before - 1) * 100
	return change, !math.IsInf(change, 0)
}

func isSum(v float64) bool { return v >= 0 && !math.IsInf(v, 0) }
