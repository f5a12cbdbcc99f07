package progression_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"evenhold/internal/progression"
	"evenhold/internal/sides"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

// TestSessionLoad: load is CR10 effort times minutes. A new approach to
// monitoring exercise training, J Strength Cond Res 2001;15(1):109-115. The
// products are worked by hand.
func TestSessionLoad(t *testing.T) {
	tests := []struct {
		effort int
		length time.Duration
		want   float64
	}{
		{6, 60 * time.Minute, 360},
		{0, 45 * time.Minute, 0},
		{3, 30 * time.Second, 1.5},
	}
	for _, tt := range tests {
		got, err := progression.SessionLoad(tt.effort, tt.length)
		if err != nil || got != tt.want {
			t.Errorf("SessionLoad(%d, %s) = %g, %v, want %g", tt.effort, tt.length, got, err, tt.want)
		}
	}
	for _, bad := range []struct {
		effort int
		length time.Duration
	}{{11, time.Minute}, {-1, time.Minute}, {5, -time.Minute}, {5, 5 * time.Hour}} {
		var refused *progression.OutOfBounds
		if _, err := progression.SessionLoad(bad.effort, bad.length); !errors.As(err, &refused) {
			t.Errorf("SessionLoad(%d, %s) = %v, want it refused", bad.effort, bad.length, err)
		}
	}
}

// TestWeekOf: monotony is mean / SD and strain is weekly load × monotony, Med Sci
// Sports Exerc 1998;30(7):1164-1168. Worked by hand with n−1: total 900, mean
// 128.571; squares 129600 + 57600 + 90000 = 277200, less 900²/7 = 115714.286, is
// 161485.714; over 6 is 26914.286, SD 164.056; 128.571/164.056 = 0.7837; times
// 900 is 705.34.
func TestWeekOf(t *testing.T) {
	w, err := progression.WeekOf([7]float64{360, 0, 240, 0, 300, 0, 0})
	if err != nil || !w.Defined {
		t.Fatalf("WeekOf: defined %t, %v", w.Defined, err)
	}
	if w.Total != 900 || math.Abs(w.Monotony-0.7837) > 5e-5 || math.Abs(w.Strain-705.34) > 5e-3 {
		t.Errorf("total %g, monotony %.4f, strain %.2f, want 900, 0.7837, 705.34",
			w.Total, w.Monotony, w.Strain)
	}
}

// TestWeekOfFlat: seven equal days have no spread, whatever rounding does to the
// mean of 0.1.
func TestWeekOfFlat(t *testing.T) {
	for _, day := range []float64{0, 0.1, 100, 33.3} {
		w, err := progression.WeekOf([7]float64{day, day, day, day, day, day, day})
		if err != nil || w.Defined || w.Monotony != 0 || w.Strain != 0 || !w.Working.IsFinite() {
			t.Errorf("seven days of %g: %+v, %v, want monotony undefined", day, w, err)
		}
	}
}

func TestWeekOfRefuses(t *testing.T) {
	for _, bad := range []float64{-1, math.NaN(), math.Inf(1), 1e300} {
		if _, err := progression.WeekOf([7]float64{0, bad}); !errors.Is(err, progression.ErrNotFinite) {
			t.Errorf("a day of %g: %v, want ErrNotFinite", bad, err)
		}
	}
}

// TestWeekOfAgainstGonum compares with the general-purpose package's mean and
// standard deviation (n−1).
func TestWeekOfAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var days [7]float64
		for i := range days {
			days[i] = float64(rapid.IntRange(0, 2400).Draw(t, "day"))
		}
		w, err := progression.WeekOf(days)
		mean, sd := stat.MeanStdDev(days[:], nil)
		if err != nil || w.Defined != (sd > 1e-9) {
			t.Fatalf("defined %t with SD %g, %v", w.Defined, sd, err)
		}
		if w.Defined && math.Abs(w.Monotony-mean/sd) > 1e-9*(1+mean/sd) {
			t.Fatalf("monotony %g, gonum says %g", w.Monotony, mean/sd)
		}
	})
}

// TestWeekWork: 50 N·m for 20 s is 1000 N·m·s; day 4 is outside the seven days
// that end with day 11, day 5 is inside.
func TestWeekWork(t *testing.T) {
	got, err := progression.WeekWork([]progression.Work{
		{Day: 4, Works: sides.WorksLeft, MomentNM: 50, Time: time.Hour},
		{Day: 5, Works: sides.WorksLeft, MomentNM: 50, Time: 20 * time.Second},
		{Day: 11, Works: sides.WorksRight, MomentNM: 30, Time: 100 * time.Second},
		{Day: 12, Works: sides.WorksRight, MomentNM: 50, Time: time.Hour},
	}, 11)
	want := progression.SideWork{LeftNMS: 1000, RightNMS: 3000, LeftShare: 0.25, Shared: true}
	if err != nil || got != want {
		t.Errorf("got %+v, %v, want %+v", got, err, want)
	}
	if got, err := progression.WeekWork(nil, 0); err != nil || got.Shared {
		t.Errorf("no work: %+v, %v, want no share", got, err)
	}
	for _, bad := range []progression.Work{
		{Works: sides.WorksLeft, MomentNM: math.NaN()},
		{Works: sides.WorksLeft, MomentNM: 5, Time: -1},
		{Works: "both", MomentNM: 5, Time: 1},
	} {
		if _, err := progression.WeekWork([]progression.Work{bad}, 0); err == nil {
			t.Errorf("%+v is accepted", bad)
		}
	}
}

func TestWeekChangePercent(t *testing.T) {
	if got, ok := progression.WeekChangePercent(200, 250); !ok || math.Abs(got-25) > 1e-12 {
		t.Errorf("200 to 250 is %g %%, %t, want 25 %%", got, ok)
	}
	for _, bad := range [][2]float64{{0, 5}, {-1, 5}, {math.NaN(), 1}, {1, math.Inf(1)},
		{5e-324, 1e300}} {
		if got, ok := progression.WeekChangePercent(bad[0], bad[1]); ok {
			t.Errorf("%g to %g is given as %g %%", bad[0], bad[1], got)
		}
	}
}
