package symmetry_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"evenhold/internal/symmetry"
)

func dated(day int, holdS float64, stop symmetry.Stop) symmetry.Dated {
	return symmetry.Dated{Day: day, Stop: stop, Hold: time.Duration(holdS * float64(time.Second))}
}

func ExampleTrend_Forecast() {
	t := symmetry.TrendOf([]symmetry.Dated{
		dated(0, 40, symmetry.Position), dated(21, 48, symmetry.Position),
	}, symmetry.DefaultModel())
	fmt.Println(t.Forecast(time.Minute).Verdict)
	// Output: too_few_tests
}

// side is a simulated side whose truth is drawn from the very prior that TrendOf
// states: drift, and one of the five sizes of wander.
type side struct {
	rng    *rand.Rand
	m      symmetry.Model
	level  float64
	drift  float64 // a week
	wander float64 // SD a week
}

func newSide(rng *rand.Rand) *side {
	m := symmetry.DefaultModel()
	wanders := [...]float64{0, 0.01, 0.02, 0.04, 0.08}
	return &side{rng: rng, m: m, drift: 0.04 * rng.NormFloat64(),
		wander: wanders[rng.IntN(len(wanders))],
		level:  math.Log(m.Level.Seconds()) + m.LevelSD*rng.NormFloat64()}
}

func (s *side) pass(days int) {
	weeks := float64(days) / 7
	s.level += s.drift*weeks + s.wander*math.Sqrt(weeks)*s.rng.NormFloat64()
}

func (s *side) test(day int) symmetry.Dated {
	return dated(day, math.Exp(s.level+s.m.TypicalError*s.rng.NormFloat64()), symmetry.Position)
}

// What is said of a day four weeks ahead must hold as often as it says: the 90 %
// interval covers the truth in 86 to 94 % (the project's own requirement).
func TestTrendIntervalCoverage(t *testing.T) {
	rng := rand.New(rand.NewPCG(20260311, 0))
	const people = 2000
	var now, ahead, drift int
	for range people {
		s := newSide(rng)
		var tests []symmetry.Dated
		day := 0
		for range 6 {
			tests = append(tests, s.test(day))
			gap := 7 + s.rng.IntN(15)
			day += gap
			s.pass(gap)
		}
		tests = append(tests, s.test(day))
		trend := symmetry.TrendOf(tests, s.m)
		inside := func(l symmetry.Level) int {
			truth := math.Exp(s.level)
			if l.Low.Seconds() <= truth && truth <= l.High.Seconds() {
				return 1
			}
			return 0
		}
		now += inside(trend.Levels[len(trend.Levels)-1])
		if p := 100 * math.Expm1(s.drift); trend.WeeklyLow <= p && p <= trend.WeeklyHigh {
			drift++
		}
		s.pass(28)
		level, ok := trend.At(day + 28)
		if !ok || !level.IsExtrapolated {
			t.Fatalf("no level four weeks ahead: %+v", level)
		}
		ahead += inside(level)
	}
	for name, n := range map[string]int{"now": now, "four weeks ahead": ahead, "drift": drift} {
		t.Logf("%s: covered %.1f %%", name, 100*float64(n)/people)
		if share := float64(n) / people; share < 0.86 || share > 0.94 {
			t.Errorf("%s: the 90 %% interval covers %.1f %%", name, 100*share)
		}
	}
}

// On the day called likely about half of the people must be at their target, on
// the latest about 95 %.
func TestForecastKeepsItsWord(t *testing.T) {
	rng := rand.New(rand.NewPCG(20260312, 0))
	var likely, likelyThere, latest, latestThere int
	for range 6000 {
		s := newSide(rng)
		var tests []symmetry.Dated
		for day := 0; day <= 70; day += 14 {
			if day > 0 {
				s.pass(14)
			}
			tests = append(tests, s.test(day))
		}
		trend := symmetry.TrendOf(tests, s.m)
		now, _ := trend.At(70)
		target := time.Duration(float64(now.Hold) * 1.15)
		f := trend.Forecast(target)
		if f.Verdict != symmetry.InSight || f.EarliestDays > f.LikelyDays {
			continue
		}
		s.pass(f.LikelyDays)
		likely++
		if s.level >= math.Log(target.Seconds()) {
			likelyThere++
		}
		if f.LatestDays == symmetry.Never {
			continue
		}
		s.pass(f.LatestDays - f.LikelyDays)
		latest++
		if s.level >= math.Log(target.Seconds()) {
			latestThere++
		}
	}
	t.Logf("likely: %d of %d there; latest: %d of %d there", likelyThere, likely, latestThere,
		latest)
	if likely < 200 || latest < 50 {
		t.Fatalf("too few forecasts to judge: %d, %d", likely, latest)
	}
	if share := float64(likelyThere) / float64(likely); math.Abs(share-0.50) > 0.06 {
		t.Errorf("at the target on the likely day: %.1f %%, want 50 %%", 100*share)
	}
	if share := float64(latestThere) / float64(latest); math.Abs(share-0.95) > 0.05 {
		t.Errorf("at the target on the latest day: %.1f %%, want 95 %%", 100*share)
	}
}

func TestForecastVerdicts(t *testing.T) {
	p := symmetry.Position
	rising := []symmetry.Dated{dated(0, 40, p), dated(14, 46, p), dated(28, 52, p),
		dated(42, 60, p), dated(56, 68, p)}
	level := []symmetry.Dated{dated(0, 60, p), dated(14, 60, p), dated(28, 60, p), dated(42, 60, p)}
	tests := []struct {
		name   string
		tests  []symmetry.Dated
		target time.Duration
		want   symmetry.Verdict
	}{
		{"no test", nil, time.Minute, symmetry.TooFewTests},
		{"three holds on two days", []symmetry.Dated{dated(0, 40, p), dated(0, 42, p),
			dated(9, 44, p)}, time.Minute, symmetry.TooFewTests},
		{"two values and a lower bound", []symmetry.Dated{dated(0, 40, p), dated(7, 42, p),
			dated(14, 60, symmetry.Limit)}, time.Minute, symmetry.TooFewTests},
		{"rising", rising, 80 * time.Second, symmetry.InSight},
		{"given backwards", []symmetry.Dated{rising[4], rising[3], rising[2], rising[1], rising[0]},
			80 * time.Second, symmetry.InSight},
		{"long passed", rising, 20 * time.Second, symmetry.Reached},
		{"level, and the target is twice that", level, 2 * time.Minute, symmetry.NotInSight},
		{"target is no hold", rising, 0, symmetry.NotInSight},
		{"negative target", rising, -time.Hour, symmetry.NotInSight},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := symmetry.TrendOf(tt.tests, symmetry.DefaultModel()).Forecast(tt.target)
			if f.Verdict != tt.want {
				t.Errorf("verdict %s, want %s (%d, %d, %d days)", f.Verdict, tt.want,
					f.EarliestDays, f.LikelyDays, f.LatestDays)
			}
		})
	}
}

// A hold that was cut short may pull the level up, never down.
func TestLowerBoundNeverPullsDown(t *testing.T) {
	m := symmetry.DefaultModel()
	base := []symmetry.Dated{dated(0, 60, symmetry.Position), dated(14, 63, symmetry.Position)}
	now := func(tests []symmetry.Dated) time.Duration {
		l, ok := symmetry.TrendOf(tests, m).At(20)
		if !ok {
			t.Fatal("no level")
		}
		return l.Hold
	}
	plain := now(base)
	low := now(append(base[:2:2], dated(20, 15, symmetry.ArmShoulder)))
	high := now(append(base[:2:2], dated(20, 120, symmetry.Limit)))
	if low < plain-200*time.Millisecond || high < plain+5*time.Second {
		t.Errorf("level %v; with 15 s at least %v; with 120 s at least %v", plain, low, high)
	}
}

func TestAtRefusesThePast(t *testing.T) {
	trend := symmetry.TrendOf([]symmetry.Dated{dated(10, 60, symmetry.Position)},
		symmetry.DefaultModel())
	if _, ok := trend.At(9); ok {
		t.Error("a day before the last test has no forecast")
	}
	if _, ok := (symmetry.Trend{}).At(9); ok {
		t.Error("without a test there is no level")
	}
}
