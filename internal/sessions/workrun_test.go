package sessions_test

import (
	"errors"
	"reflect"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// newWork is a session of one hold of two repetitions and one carry a side.
func newWork() sessions.WorkRun {
	items := []sessions.Item{
		{Step: "straight_leg_hold", Reps: []int64{2}, HoldMS: 10_000, RestRepMS: 4_000,
			RestSetMS: 60_000, First: right},
		{Step: "suitcase_carry", Reps: []int64{1, 1}, TimeMS: 30_000, RestSetMS: 75_000, First: right,
			DistanceMM: 20_000, LoadG: map[sides.Working]int64{left: 16_000, right: 12_000}},
	}
	for i := range items {
		items[i].ID.Device, items[i].ID.Seq = 7, uint64(i+1)
		items[i].Revision.WallMS, items[i].Revision.Device = 500, 7
	}
	return sessions.WorkRun{
		Session: "s-1", Turns: sessions.Turns(items, isHold), Phase: sessions.WorkReady,
	}
}

func begin(t *testing.T, run sessions.WorkRun, atMS int64) sessions.WorkRun {
	t.Helper()
	run, err := run.Begin(reading(atMS))
	if err != nil {
		t.Fatal(err)
	}
	return run
}

func end(
	t *testing.T, run sessions.WorkRun, atMS int64, stop string,
) (sessions.WorkRun, sessions.Set) {
	t.Helper()
	run, set, err := run.End(reading(atMS), stop)
	if err != nil {
		t.Fatal(err)
	}
	return run, set
}

// TestWorkFromFirstToLast leads the whole session: holds, rests, carries, and
// then the question how it was.
func TestWorkFromFirstToLast(t *testing.T) {
	run := begin(t, newWork(), 0)
	if run.Phase != "series" {
		t.Fatalf("a hold runs as %q", run.Phase)
	}
	run, set := end(t, run, 29_000, "")
	want := sessions.Set{
		Session: "s-1", Item: "0000000000007-1", Asked: "500.0.0000000000007",
		Step: "straight_leg_hold", Down: sides.DownRight, Working: right, Number: 1, Reps: 2,
		HoldMS: 10_000, HeldMS: 20_000, StartedMS: 1_000_000, Clock: "mono",
	}
	if !reflect.DeepEqual(set, want) {
		t.Errorf("set  %+v\nwant %+v", set, want)
	}
	if run.Phase != "rest" || run.RestMS != 60_000 || run.RestFrom != reading(29_000) {
		t.Errorf("after a set: %q for %d ms from %+v", run.Phase, run.RestMS, run.RestFrom)
	}
	run, _ = end(t, begin(t, run, 40_000), 69_000, "")
	if run = begin(t, run, 130_000); run.Phase != "carry" {
		t.Fatalf("a carry runs as %q", run.Phase)
	}
	run, set = end(t, run, 161_500, "")
	if set.Hand != sides.HandLeft || set.Working != right || set.Down != "" ||
		set.TimeMS != 31_500 || set.LoadG != 12_000 || set.DistanceMM != 20_000 || set.HeldMS != 0 {
		t.Errorf("weight in the left hand works right: %+v", set)
	}
	for at := int64(200_000); run.Phase != sessions.WorkFeel; at += 100_000 {
		if run.At > len(run.Turns) {
			t.Fatal("ran past the end")
		}
		run, _ = end(t, begin(t, run, at), at+30_000, "")
	}
	if _, ok := run.Turn(); ok || run.At != 6 || run.RestMS != 0 {
		t.Errorf("after all sets: turn %d, rest %d ms", run.At, run.RestMS)
	}
	for name, err := range map[string]error{
		"begin": second(run.Begin(reading(0))), "skip": second(run.Skip()),
		"end": third(run.End(reading(0), "")), "enter": third(run.Enter(reading(0))),
	} {
		if !errors.Is(err, sessions.ErrPhase) {
			t.Errorf("%s after all sets: %v", name, err)
		}
	}
}

func second[A any](_ A, err error) error { return err }

func third[A, B any](_ A, _ B, err error) error { return err }

// TestWorkEndsEarly counts what was held and whole repetitions only.
func TestWorkEndsEarly(t *testing.T) {
	run := begin(t, newWork(), 0)
	next, set := end(t, run, 22_000, "pain")
	if set.Reps != 1 || set.HeldMS != 13_000 || set.Stop != "pain" || next.Phase != "rest" {
		t.Errorf("stopped in the second hold: %+v, then %q", set, next.Phase)
	}
	_, set = end(t, run, 3_000, "gave_up")
	if set.Reps != 0 || set.HeldMS != 0 {
		t.Errorf("stopped before the first hold: %+v", set)
	}
	_, set = end(t, run, 7_200_000, "")
	if set.Reps != 2 || set.HeldMS != 20_000 {
		t.Errorf("two hours on: %+v", set)
	}
	carry := begin(t, skipTo(t, newWork(), 2), 0)
	if _, set = end(t, carry, 7_200_000, ""); set.TimeMS != sessions.MaxHoldMS {
		t.Errorf("a carry of two hours was taken as %d ms", set.TimeMS)
	}
	same, _, err := run.End(reading(22_000), "bored")
	if !errors.Is(err, sessions.ErrReason) || !reflect.DeepEqual(same, run) {
		t.Errorf("an unknown reason: %v", err)
	}
	back := sessions.Reading{WallMS: 1, MonoMS: 1, Run: "b"}
	same, _, err = run.End(back, "")
	if !errors.Is(err, sessions.ErrBackwards) || !reflect.DeepEqual(same, run) {
		t.Errorf("a clock that went back: %v", err)
	}
}

func skipTo(t *testing.T, run sessions.WorkRun, at int) sessions.WorkRun {
	t.Helper()
	for run.At < at {
		var err error
		if run, err = run.Skip(); err != nil {
			t.Fatal(err)
		}
	}
	return run
}

func TestWorkAcrossAGap(t *testing.T) {
	run := begin(t, newWork(), 0)
	_, set, err := run.End(sessions.Reading{WallMS: 1_015_000, MonoMS: 20, Run: "b"}, "gave_up")
	if err != nil || set.Clock != "wall" || set.Reps != 1 || set.HeldMS != 10_000 {
		t.Errorf("across a gap: %+v, %v", set, err)
	}
}

// TestWorkEnter logs what is shown, and says that the wall clock dated it.
func TestWorkEnter(t *testing.T) {
	run, set, err := newWork().Enter(reading(5_000))
	if err != nil || set.Reps != 2 || set.HeldMS != 20_000 || set.Clock != "wall" ||
		set.StartedMS != 1_005_000 || run.Phase != "rest" || run.At != 1 {
		t.Errorf("entered hold: %+v, %v, then %q", set, err, run.Phase)
	}
	_, set, err = skipTo(t, newWork(), 3).Enter(reading(0))
	if err != nil || set.Hand != sides.HandRight || set.Working != left || set.LoadG != 16_000 ||
		set.TimeMS != 30_000 || set.HeldMS != 0 {
		t.Errorf("entered carry, weight in the right hand works left: %+v, %v", set, err)
	}
	series := begin(t, newWork(), 0)
	if _, _, err := series.Enter(reading(0)); !errors.Is(err, sessions.ErrPhase) {
		t.Errorf("entering over a running series: %v", err)
	}
}

// TestWorkAdjust changes the later turns of the same item and side, and no other; repetitions of
// the due turn alone.
func TestWorkAdjust(t *testing.T) {
	before := skipTo(t, newWork(), 3) // the first carry that works left
	after := before.Adjust(7, 20_000, 25_000, 40_000)
	for i, turn := range after.Turns {
		want := before.Turns[i]
		if i == 3 || i == 5 {
			want.LoadG, want.DistanceMM, want.TimeMS = 20_000, 25_000, 40_000
		}
		if i == 3 {
			want.Reps = 7
		}
		if !reflect.DeepEqual(turn, want) {
			t.Errorf("turn %d: %+v, want %+v", i, turn, want)
		}
	}
	if !reflect.DeepEqual(before, skipTo(t, newWork(), 3)) {
		t.Error("the run before was changed as well")
	}
	other := skipTo(t, newWork(), 1).Adjust(4, 1, 2, 3) // the hold that works left
	if other.Turns[1].LoadG != 1 || other.Turns[3].LoadG != 16_000 {
		t.Errorf("another item was changed: %+v", other.Turns)
	}
	last := skipTo(t, newWork(), 5).Adjust(4, 1, 2, 3)
	if last.Turns[3].LoadG != 16_000 || last.Turns[5].LoadG != 1 {
		t.Errorf("an earlier turn was changed: %+v", last.Turns)
	}
	done := skipTo(t, newWork(), 6)
	if !reflect.DeepEqual(done.Adjust(4, 1, 2, 3), done) {
		t.Error("adjusting after all turns changed something")
	}
}

func TestWorkSkipAndFinish(t *testing.T) {
	run := skipTo(t, newWork(), 1)
	if turn, _ := run.Turn(); run.Phase != "ready" || turn.Working != left {
		t.Errorf("after a skip: %q, %q due", run.Phase, turn.Working)
	}
	if run = skipTo(t, run, 6); run.Phase != "feel" {
		t.Errorf("after skipping all: %q", run.Phase)
	}
	early, err := newWork().Finish()
	if err != nil || early.Phase != "feel" {
		t.Errorf("finished early: %q, %v", early.Phase, err)
	}
	for _, at := range []int{0, 2} {
		busy := begin(t, skipTo(t, newWork(), at), 0)
		if same, err := busy.Finish(); !errors.Is(err, sessions.ErrPhase) || same.Phase != busy.Phase {
			t.Errorf("finishing in %q: %v", busy.Phase, err)
		}
		if _, err := busy.Begin(reading(1)); !errors.Is(err, sessions.ErrPhase) {
			t.Errorf("beginning in %q: %v", busy.Phase, err)
		}
	}
	if _, _, err := newWork().End(reading(0), ""); !errors.Is(err, sessions.ErrPhase) {
		t.Errorf("ending what was not begun: %v", err)
	}
}

// TestWorkWithoutRest goes straight on where no rest is planned.
func TestWorkWithoutRest(t *testing.T) {
	run := newWork()
	run.Turns[0].RestSetMS = 0
	run, _ = end(t, begin(t, run, 0), 29_000, "")
	if run.Phase != "ready" || run.RestMS != 0 {
		t.Errorf("after a set without rest: %q for %d ms", run.Phase, run.RestMS)
	}
}
