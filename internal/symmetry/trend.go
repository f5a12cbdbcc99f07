package symmetry

import (
	"math"
	"sort"
	"time"

	"evenhold/internal/reference"
	"evenhold/internal/working"
)

// Dated is one test of one working side. Day counts days from any fixed start.
type Dated struct {
	Day  int
	Hold time.Duration
	Stop Stop
}

// Level is the true endurance of a side on a day: median and 90 % interval.
type Level struct {
	Day            int
	Hold           time.Duration
	Low, High      time.Duration
	Tested         time.Duration // the hold measured that day; 0 for a day to come
	IsLowerBound   bool          // Tested is only a lower bound
	IsExtrapolated bool          // Day lies after the last test
}

// Trend is where one side has been heading. The zero Trend knows no test.
type Trend struct {
	Levels []Level // one for each usable test, in order of day
	Days   int     // different days with a hold read as a value
	// WeeklyPercent is the drift: how much longer the side holds each week, with
	// its 90 % interval. All are 0 without a usable test.
	WeeklyPercent, WeeklyLow, WeeklyHigh float64
	Working                              working.Working

	last   state
	day    int // of the last usable test
	span   int // days from the first usable test to the last
	wander float64
}

// driftSD is how fast sides change before any test: two in three people by less
// than 4 % a week (our own estimate, no source).
const driftSD = 0.04

// wanders are the SDs, a week, by which a level may wander off its line. They
// are weighed by how well each explains the tests (our own choice, no source).
var wanders = [...]float64{0, 0.01, 0.02, 0.04, 0.08}

// TrendOf follows one side through its tests by a local-level model on the log
// scale with a drift: level(t) = level(t-1) + drift + wander, ln hold = level +
// test error. Tests may come in any order; what cannot be read is left out.
func TrendOf(tests []Dated, m Model) Trend {
	m, isOwn := m.orDefault()
	samples := samplesOf(tests)
	noise := square(m.TypicalError)
	first := state{level: math.Log(m.Level.Seconds()), ll: square(m.LevelSD), dd: square(driftSD)}
	t := Trend{wander: meanWander(first, samples, noise)}
	if len(samples) > 0 {
		t.day = samples[len(samples)-1].day
		t.span = int(math.Round(7 * weeksBetween(samples[0].day, t.day)))
		states, _ := filter(first, samples, t.wander, noise)
		t.last = states[len(states)-1]
		for i, s := range smooth(states, samples, t.wander) {
			level := newLevel(samples[i].day, s)
			level.Tested = holdOf(samples[i].log)
			level.IsLowerBound = samples[i].read == bound
			t.Levels = append(t.Levels, level)
			// Values come before bounds, so the first of a day tells.
			if samples[i].read == value && (i == 0 || samples[i].day != samples[i-1].day) {
				t.Days++
			}
		}
		reach := z90 * math.Sqrt(math.Max(t.last.dd, 0))
		t.WeeklyPercent = longerPercent(t.last.drift)
		t.WeeklyLow = longerPercent(t.last.drift - reach)
		t.WeeklyHigh = longerPercent(t.last.drift + reach)
	}
	t.Working = t.working(m, len(tests)-len(samples), isOwn)
	return t
}

// samplesOf keeps what can be read, in order of day, values before bounds.
func samplesOf(tests []Dated) []sample {
	var samples []sample
	for _, d := range tests {
		if read := (Timed{d.Hold, d.Stop}).reading(); read != leftOut {
			samples = append(samples, sample{d.Day, math.Log(d.Hold.Seconds()), read})
		}
	}
	sort.SliceStable(samples, func(i, j int) bool {
		a, b := samples[i], samples[j]
		if a.day != b.day {
			return a.day < b.day
		}
		if a.read != b.read {
			return a.read < b.read
		}
		return a.log < b.log
	})
	return samples
}

func meanWander(first state, samples []sample, noise float64) float64 {
	var logs [len(wanders)]float64
	top := math.Inf(-1)
	for i, sd := range wanders {
		_, logs[i] = filter(first, samples, square(sd), noise)
		top = math.Max(top, logs[i])
	}
	var sum, total float64
	for i, sd := range wanders {
		weight := math.Exp(logs[i] - top)
		sum += weight * square(sd)
		total += weight
	}
	return sum / total
}

func newLevel(day int, s state) Level {
	reach := z90 * math.Sqrt(math.Max(s.ll, 0))
	return Level{Day: day, Hold: holdOf(s.level),
		Low: holdOf(s.level - reach), High: holdOf(s.level + reach)}
}

// holdOf turns a log back into a hold of at most a day: what lies beyond is no
// hold anyone could do, and would not fit a Duration.
func holdOf(log float64) time.Duration {
	s := math.Exp(math.Min(log, math.Log(24*3600)))
	return time.Duration(math.Round(s*1000)) * time.Millisecond
}

func (t Trend) working(m Model, out int, isOwn bool) working.Working {
	w := working.Working{
		Key: "working.trend", Unit: "%", Low: t.WeeklyLow, High: t.WeeklyHigh, Level: level,
		Sources: append(append([]working.Source(nil), m.Sources...), reference.SourceOf("ours")),
		Inputs: []working.Input{
			{Key: "input.tests", Value: float64(len(t.Levels)), Unit: "1"},
			{Key: "input.typical_error", Value: m.TypicalError, Unit: "1"},
			{Key: "input.drift_sd", Value: driftSD, Unit: "1"},
		},
		Steps: []working.Step{
			{Key: "step.wander", Formula: "√E[q | tests], level(t) = level(t-1) + drift + " +
				"N(0, q) a week", Value: math.Sqrt(t.wander), Unit: "1"},
			{Key: "step.weekly", Formula: "100·(exp(drift) - 1) a week",
				Value: t.WeeklyPercent, Unit: "%"},
		},
		Cautions: []string{"caution.first_retest"},
	}
	if out > 0 {
		w.Cautions = append(w.Cautions, "caution.left_out")
	}
	if !isOwn {
		w.Cautions = append(w.Cautions, "caution.model_replaced")
	}
	return w
}
