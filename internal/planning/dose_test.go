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
		fitted, fit, ok := c.Fit(shipped, []sessions.Item{item}, 0, planning.Steady, holds())
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
	free, _, _ := c.Fit(shipped, []sessions.Item{holds()}, 0, planning.Steady, holds())
	more := free
	more.Reps = []int64{8, 7, 6}
	more = planning.SetPin(more, planning.PinReps, true)
	pinned, fit, ok := c.Fit(shipped, []sessions.Item{more}, 0, planning.Steady, holds())
	if !ok || pinned.Reps[0] != 8 || !planning.HasPin(pinned, planning.PinReps) {
		t.Fatalf("the pinned repetitions became %v", pinned.Reps)
	}
	if slices.Equal(pinned.Reps, more.Reps) && pinned.HoldMS == more.HoldMS &&
		pinned.RestSetMS == more.RestSetMS {
		t.Errorf("nothing followed: %+v, %+v", pinned, fit)
	}
	released := planning.SetPin(pinned, planning.PinReps, false)
	again, _, _ := c.Fit(shipped, []sessions.Item{released}, 0, planning.Steady, holds())
	if !slices.Equal(again.Reps, free.Reps) || again.HoldMS != free.HoldMS {
		t.Errorf("without the pin %v, before it %v", again.Reps, free.Reps)
	}
	weak, _, _ := known(t, 25, 90).Fit(shipped, []sessions.Item{holds()}, 0, planning.Steady, holds())
	if total(weak)*weak.HoldMS >= total(free)*free.HoldMS {
		t.Errorf("25 s leads to %+v, 60 s to %+v", weak, free)
	}
	easy, _, _ := c.Fit(shipped, []sessions.Item{holds()}, 0, planning.Easy, holds())
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
	unknown := planning.Capacities{}
	if _, _, ok := unknown.Fit(shipped, []sessions.Item{holds()}, 0, planning.Steady, holds()); ok {
		t.Error("a dose was fitted to a capacity that nobody knows")
	}
	tooEasy := holds()
	tooEasy.Step = "wall_lean"
	strong := known(t, 150, 150)
	got, fit, _ := strong.Fit(shipped, []sessions.Item{tooEasy}, 0, planning.Steady, tooEasy)
	if !slices.Equal(got.Reps, tooEasy.Reps) || fit.IsInBand {
		t.Errorf("a step too easy for the band became %v", got.Reps)
	}
}

// TestFit_Carry: after holds that ask much, a carry that would end above the band gets
// shorter, and the whole prediction agrees; one that ends below keeps its dose, as does a time
// that the coach has set.
func TestFit_Carry(t *testing.T) {
	c := known(t, 40, 60)
	tiring := holds()
	tiring.Reps, tiring.RestSetMS = []int64{4, 3, 3}, 30_000
	carry := sessions.Item{
		Step: "suitcase_carry", Reps: []int64{1, 1, 1}, TimeMS: 60_000, RestSetMS: 30_000,
		First: sides.WorksLeft, LoadG: map[sides.Working]int64{"left": 30_000, "right": 30_000},
	}
	plan := []sessions.Item{tiring, carry}
	fitted, fit, ok := c.Fit(shipped, plan, 1, planning.Steady, carry)
	if !ok || !fit.IsInBand || fitted.TimeMS >= carry.TimeMS || fitted.LoadG["left"] != 30_000 {
		t.Fatalf("%+v, %+v", fitted, fit)
	}
	course, err := planning.Predict(c.Of(fit.Works), []sessions.Item{tiring, fitted})
	if err != nil {
		t.Fatal(err)
	}
	end := course.Points[len(course.Points)-1].Mark
	if math.Abs(end.Fatigue-fit.Fatigue) > 1e-9 || end.Fatigue > planning.Steady.High {
		t.Errorf("the fit says %v, the prediction %v", fit.Fatigue, end.Fatigue)
	}
	pinned := planning.SetPin(carry, planning.PinTime, true)
	plan[1] = pinned
	if got, _, _ := c.Fit(shipped, plan, 1, planning.Steady, carry); got.TimeMS != carry.TimeMS {
		t.Errorf("a pinned time became %d ms", got.TimeMS)
	}
	light := carry
	light.LoadG = map[sides.Working]int64{"left": 4_000, "right": 4_000}
	got, fit, _ := c.Fit(shipped, []sessions.Item{light}, 0, planning.Steady, light)
	if got.TimeMS != light.TimeMS || len(got.Reps) != 3 || fit.Tried > 1000 {
		t.Errorf("a light carry became %+v after %d doses", got, fit.Tried)
	}
}

// TestFit_Rest: with the work of a series set by hand, the rests follow, so that more rest
// is given where more is asked.
func TestFit_Rest(t *testing.T) {
	c := known(t, 60, 90)
	item := holds()
	for _, field := range []string{planning.PinReps, planning.PinSets, planning.PinHold} {
		item = planning.SetPin(item, field, true)
	}
	item.HoldMS = 8_000
	usual, fit, _ := c.Fit(shipped, []sessions.Item{item}, 0, planning.Steady, item)
	item.HoldMS = 12_000
	longer, _, _ := c.Fit(shipped, []sessions.Item{item}, 0, planning.Steady, item)
	if longer.HoldMS != 12_000 || longer.RestSetMS+longer.RestRepMS <=
		usual.RestSetMS+usual.RestRepMS {
		t.Errorf("8 s holds rest %d and %d ms, 12 s holds %d and %d ms; fit %+v", usual.RestSetMS,
			usual.RestRepMS, longer.RestSetMS, longer.RestRepMS, fit)
	}
}

// TestFit_Near: a dose that has grown with a person and ends within the band stays as it is:
// the fit keeps near to it and not to the ladder's start. Extra sets of the weaker side count.
func TestFit_Near(t *testing.T) {
	c := known(t, 90, 120)
	grown := holds()
	grown.Reps = []int64{7, 6, 5}
	fitted, fit, _ := c.Fit(shipped, []sessions.Item{grown}, 0, planning.Steady, grown)
	if !fit.IsInBand || total(fitted) < total(holds()) {
		t.Fatalf("%v, %+v", fitted.Reps, fit)
	}
	again, _, _ := c.Fit(shipped, []sessions.Item{fitted}, 0, planning.Steady, fitted)
	ends, ok := c.Ends(shipped, []sessions.Item{fitted}, 0, planning.Steady)
	if !slices.Equal(again.Reps, fitted.Reps) || again.RestSetMS != fitted.RestSetMS ||
		!ok || ends.Fatigue != fit.Fatigue || !ends.IsInBand {
		t.Errorf("fitted again %+v, it ends %+v, want %+v", again, ends, fit)
	}
	more := fitted
	more.ExtraSets = 3
	extra, fit, _ := c.Fit(shipped, []sessions.Item{more}, 0, planning.Steady, fitted)
	if extra.ExtraSets != 3 || !fit.IsInBand || total(extra) >= total(fitted) &&
		extra.RestSetMS <= fitted.RestSetMS && extra.RestRepMS <= fitted.RestRepMS {
		t.Errorf("three more sets for the weaker side leave %+v, %+v", extra, fit)
	}
}

// TestFitNext fits the dose of another step, and leaves one of the present step alone.
func TestFitNext(t *testing.T) {
	c := known(t, 60, 90)
	step, _ := progression.StepByID("side_front_roll")
	next := progression.Item{StepID: step.ID, WorksLeft: step.Start, WorksRight: step.Start}
	n := planning.Next{Item: holds(), Decision: progression.Decision{Next: &next}}
	fitted := c.FitNext(practice, []sessions.Item{holds()}, 0, n, planning.Steady)
	item := practice.Item(*fitted.Decision.Next, 0)
	want, _, ok := c.Fit(shipped, []sessions.Item{item}, 0, planning.Steady, item)
	if !ok || item.Step != step.ID || !slices.Equal(item.Reps, want.Reps) {
		t.Errorf("the next step is done at %+v, fitted %+v", item, want)
	}
	same := next
	same.StepID = holds().Step
	n.Decision.Next = &same
	if c.FitNext(practice, []sessions.Item{holds()}, 0, n, planning.Steady).Decision.Next != &same {
		t.Error("a dose of the present step was changed")
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
