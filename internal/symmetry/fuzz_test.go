package symmetry_test

import (
	"encoding/binary"
	"math"
	"testing"
	"time"

	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/internal/working"
)

var (
	fuzzStops = []symmetry.Stop{symmetry.Position, symmetry.GaveUp, symmetry.ArmShoulder,
		symmetry.Pain, symmetry.Limit, symmetry.TesterError, "", "other"}
	fuzzSides = []sides.Working{left, right, "", "up"}
)

// fuzzed reads eleven bytes as one test: side, stop, day, hold.
func fuzzed(data []byte) (trials []symmetry.Trial, tests []symmetry.Dated) {
	for len(data) >= 11 && len(trials) < 24 {
		hold := time.Duration(binary.LittleEndian.Uint64(data[3:11]))
		if data[0]&0x80 == 0 { // mostly holds that could be true
			hold = (hold & 0xffff) * 10 * time.Millisecond
		}
		side, stop := fuzzSides[int(data[0])%4], fuzzStops[int(data[1])%8]
		day := int(int8(data[2]))
		trials = append(trials, symmetry.Trial{Side: side, Hold: hold, Stop: stop, Visit: day / 16})
		if data[0]&0x40 != 0 {
			day = int(int64(hold) * int64(day))
		}
		tests = append(tests, symmetry.Dated{Day: day, Hold: hold, Stop: stop})
		data = data[11:]
	}
	return trials, tests
}

func finite(t *testing.T, what string, w working.Working, values ...float64) {
	t.Helper()
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Errorf("%s: %v", what, values)
		}
	}
	if !w.IsFinite() || w.Low > w.High+1e-9 {
		t.Errorf("%s: %+v", what, w)
	}
}

func checkCompare(t *testing.T, trials []symmetry.Trial, m symmetry.Model) {
	c := symmetry.Compare(trials, m)
	finite(t, "compare", c.Working, c.LogRatio, c.LogLow, c.LogHigh, c.ShorterPercent,
		c.LowPercent, c.HighPercent)
	if !(c.LogLow <= c.LogRatio && c.LogRatio <= c.LogHigh) {
		t.Errorf("interval %v %v %v", c.LogLow, c.LogRatio, c.LogHigh)
	}
	for _, p := range []float64{c.Sure, c.Over10, c.Over25} {
		if !(p >= 0 && p <= 1+1e-9) {
			t.Errorf("probability %v in %+v", p, c)
		}
	}
	if c.Over25 > c.Over10+1e-9 || c.Sure < 0.5 {
		t.Errorf("over 10 %%: %v, over 25 %%: %v, sure %v", c.Over10, c.Over25, c.Sure)
	}
	if (c.Verdict == symmetry.CannotTell) != (c.MoreTrials > 0) {
		t.Errorf("%s with %d more trials", c.Verdict, c.MoreTrials)
	}
}

// Whatever comes from outside, every answer is defined: no NaN, infinity or
// panic, probabilities within 0 and 1, intervals in order.
func FuzzEverything(f *testing.F) {
	f.Add([]byte{}, 0.15, 0.2, 0.2, 0.3)
	f.Add([]byte("\x00\x00\x01\x70\x17\x00\x00\x00\x00\x00\x00\x01\x00\x01\x70\x17\x00\x00\x00"+
		"\x00\x00\x00"), 0.15, 0.2, 0.2, 0.3)
	f.Add([]byte("\x00\x02\x01\x64\x00\x00\x00\x00\x00\x00\x00\x01\x04\x11\xff\xff\x00\x00\x00"+
		"\x00\x00\x00\xc1\x00\x7f\x00\xa0\x72\x4e\x18\x09\x00\x00"), 0.01, 0.0, 0.0, 0.01)
	f.Add([]byte("\x80\x00\x80\xff\xff\xff\xff\xff\xff\xff\x7f"), math.NaN(), math.Inf(1), -1.0, 0.0)
	f.Fuzz(func(t *testing.T, data []byte, te, spread, visit, side float64) {
		trials, tests := fuzzed(data)
		m := symmetry.DefaultModel()
		m.TypicalError, m.TrialSD, m.TrialSDLogSD = te, te, spread
		m.VisitSD, m.SideSD = visit, side
		checkCompare(t, trials, m)

		trend := symmetry.TrendOf(tests, m)
		finite(t, "trend", trend.Working, trend.WeeklyPercent, trend.WeeklyLow, trend.WeeklyHigh)
		for _, l := range trend.Levels {
			if !(l.Low >= 0 && l.Low <= l.Hold && l.Hold <= l.High && l.High <= 24*time.Hour) {
				t.Errorf("level %+v", l)
			}
		}
		var retests []symmetry.Retest
		for i := 3; i < len(tests); i++ {
			retests = append(retests, symmetry.Retest{
				FirstLeft: tests[i-3].Hold, FirstRight: tests[i-2].Hold,
				SecondLeft: tests[i-1].Hold, SecondRight: tests[i].Hold})
			a := symmetry.Timed{Hold: tests[i-1].Hold, Stop: tests[i-1].Stop}
			b := symmetry.Timed{Hold: tests[i].Hold, Stop: tests[i].Stop}
			c := symmetry.ChangeOf(a, b, i, m)
			finite(t, "change", c.Working, c.Percent, c.LowPercent, c.HighPercent)
			battery := symmetry.Battery{Extensor: a, Flexor: b, Left: a, Right: b}
			for _, r := range battery.Ratios(m) {
				finite(t, r.Key, r.Working, r.Ratio, r.Low, r.High)
			}
			fc := trend.Forecast(tests[i].Hold)
			finite(t, "forecast", fc.Working)
		}
		n := symmetry.NoiseOf(retests, m)
		finite(t, "noise", n.Working, n.OwnTypicalError, n.ICC, n.SEM, n.Learning, n.MDC95)
	})
}
