package planning_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenhold/internal/loading"
	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

var shipped progression.Edition

// known are the capacities of a person of 70 kg and 1.75 m who held so many seconds.
func known(t interface {
	Helper()
	Fatal(...any)
}, leftS, rightS int) planning.Capacities {
	t.Helper()
	b := loading.Body{MassG: 70_000, StatureMM: 1750}
	var efforts []loading.Effort
	for w, s := range map[sides.Working]int{sides.WorksLeft: leftS, sides.WorksRight: rightS} {
		efforts = append(efforts, loading.Effort{
			AtMS: 1, Held: time.Duration(s) * time.Second, End: loading.GaveWay,
			Setup: loading.Setup{Posture: loading.StraightLeg, Works: w},
		})
	}
	left, err := loading.Estimate(b, sides.WorksLeft, efforts)
	if err != nil {
		t.Fatal(err)
	}
	right, err := loading.Estimate(b, sides.WorksRight, efforts)
	if err != nil {
		t.Fatal(err)
	}
	return planning.Capacities{Left: left, Right: right}
}

func holds() sessions.Item {
	return sessions.Item{
		Step: "straight_leg_hold", Reps: []int64{5, 4, 3}, HoldMS: 10_000, RestRepMS: 5_000,
		RestSetMS: 60_000, First: sides.WorksLeft, Weaker: sides.WorksLeft,
	}
}

// TestFitHolds: whatever was held, the fitted series ends as the whole prediction, which
// lays the plan out as it is led and knows nothing of the search, says it does; it can be
// done, and the side with less to give ends within the band where the fit says so.
func TestFitHolds(t *testing.T) {
	inBand := 0
	rapid.Check(t, func(t *rapid.T) {
		left, right := rapid.IntRange(15, 200).Draw(t, "left"), rapid.IntRange(15, 200).Draw(t, "right")
		c := known(t, left, right)
		item := holds()
		item.ExtraSets = int64(rapid.IntRange(0, 2).Draw(t, "extra"))
		fitted, fit, ok := c.FitHolds(shipped, []sessions.Item{item}, 0, planning.Steady)
		if !ok || fit.Works != c.Weaker() {
			t.Fatalf("no fit for the weaker side: %+v", fit)
		}
		course, err := planning.Predict(c.Of(fit.Works), []sessions.Item{fitted})
		if err != nil {
			t.Fatal(err)
		}
		end := course.Points[len(course.Points)-1].Mark
		if math.Abs(end.Fatigue-fit.Fatigue) > 1e-9 {
			t.Fatalf("the fit says %v, the prediction %v", fit.Fatigue, end.Fatigue)
		}
		if fit.IsInBand {
			inBand++
			if end.Fatigue < planning.Steady.Low || end.Fatigue > planning.Steady.High {
				t.Fatalf("ends at %v, outside the band", end.Fatigue)
			}
			if end.Fails == loading.FailsYes {
				t.Fatal("a fitted series is not expected to be done")
			}
		}
		if fitted.HoldMS > 10_000 {
			t.Fatalf("a hold was made longer, to %d ms", fitted.HoldMS)
		}
	})
	if inBand == 0 {
		t.Error("no fit ended within the band: the check checked nothing")
	}
}

// TestFitFollows: a pinned number stays and the rest gives way; without pins a weaker
// person is asked for less.
func TestFitFollows(t *testing.T) {
	c := known(t, 60, 90)
	free, _, _ := c.FitHolds(shipped, []sessions.Item{holds()}, 0, planning.Steady)
	more := free
	more.Reps = []int64{8, 7, 6}
	more = planning.SetPin(more, planning.PinReps, true)
	pinned, fit, ok := c.FitHolds(shipped, []sessions.Item{more}, 0, planning.Steady)
	if !ok || pinned.Reps[0] != 8 || !planning.HasPin(pinned, planning.PinReps) {
		t.Fatalf("the pinned repetitions became %v", pinned.Reps)
	}
	if slices.Equal(pinned.Reps, more.Reps) && pinned.HoldMS == more.HoldMS &&
		pinned.RestSetMS == more.RestSetMS {
		t.Errorf("nothing followed: %+v, %+v", pinned, fit)
	}
	released := planning.SetPin(pinned, planning.PinReps, false)
	again, _, _ := c.FitHolds(shipped, []sessions.Item{released}, 0, planning.Steady)
	if !slices.Equal(again.Reps, free.Reps) || again.HoldMS != free.HoldMS {
		t.Errorf("without the pin %v, before it %v", again.Reps, free.Reps)
	}
	weak, _, _ := known(t, 25, 90).FitHolds(shipped, []sessions.Item{holds()}, 0, planning.Steady)
	if total(weak)*weak.HoldMS >= total(free)*free.HoldMS {
		t.Errorf("25 s leads to %+v, 60 s to %+v", weak, free)
	}
	easy, _, _ := c.FitHolds(shipped, []sessions.Item{holds()}, 0, planning.Easy)
	if total(easy) >= total(free) {
		t.Errorf("the easy band asks %v, the steady one %v", easy.Reps, free.Reps)
	}
}

func total(i sessions.Item) (reps int64) {
	for _, n := range i.Reps {
		reps += n
	}
	return reps
}

// TestFitLeavesAlone what it cannot fit.
func TestFitLeavesAlone(t *testing.T) {
	carry := sessions.Item{Step: "suitcase_carry", Reps: []int64{1, 1}, TimeMS: 30_000}
	if _, _, ok := known(t, 60, 60).FitHolds(shipped, []sessions.Item{carry}, 0, planning.Steady); ok {
		t.Error("a carry was fitted to the band of holds")
	}
	unknown := planning.Capacities{}
	if _, _, ok := unknown.FitHolds(shipped, []sessions.Item{holds()}, 0, planning.Steady); ok {
		t.Error("a dose was fitted to a capacity that nobody knows")
	}
	tooEasy := holds()
	tooEasy.Step = "wall_lean"
	got, fit, _ := known(t, 150, 150).FitHolds(shipped, []sessions.Item{tooEasy}, 0, planning.Steady)
	if !slices.Equal(got.Reps, tooEasy.Reps) || fit.IsInBand {
		t.Errorf("a step too easy for the band became %v", got.Reps)
	}
}

// TestWeigh: both hands get the weight that suits the side with less to give, rounded
// down to what is at hand, and never more than the step's share of body mass.
func TestWeigh(t *testing.T) {
	c := known(t, 60, 120)
	item, carries, ok := c.Weigh(sessions.Item{Step: "suitcase_carry"}, []int64{4_000, 8_000, 12_000})
	left, right := carries[sides.WorksLeft], carries[sides.WorksRight]
	if !ok || left.BeforeRoundingG >= right.BeforeRoundingG {
		t.Fatalf("left %d g, right %d g", left.BeforeRoundingG, right.BeforeRoundingG)
	}
	want := left.BeforeRoundingG / 4_000 * 4_000
	if item.LoadG[sides.WorksLeft] != want || item.LoadG[sides.WorksRight] != want {
		t.Errorf("weights %v, want %d g in each hand", item.LoadG, want)
	}
	strong, _, _ := known(t, 1500, 1500).Weigh(sessions.Item{Step: "overhead_carry"}, nil)
	if strong.LoadG[sides.WorksLeft] != 7_000 { // 10 % of 70 kg
		t.Errorf("%v g overhead, past the guard", strong.LoadG)
	}
}
