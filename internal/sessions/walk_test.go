package sessions_test

import (
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// anyReading is any look at any clocks: other runs, clocks that went back.
func anyReading(t *rapid.T) sessions.Reading {
	return sessions.Reading{
		WallMS: rapid.Int64Range(0, 4_000_000).Draw(t, "wall"),
		MonoMS: rapid.Int64Range(0, 4_000_000).Draw(t, "mono"),
		Run:    rapid.SampledFrom([]string{"a", "b"}).Draw(t, "run"),
	}
}

// TestAnyTestRun taps anything at any time. A refusal changes nothing, a trial
// once given stays as it was, no hold is shorter than nothing or longer than half
// an hour, and a test that is done has a trial of each side that tells something.
func TestAnyTestRun(t *testing.T) {
	done := 0
	rapid.Check(t, func(t *rapid.T) {
		first := rapid.SampledFrom([]sides.Working{left, right}).Draw(t, "first")
		run := newRun(first)
		for range rapid.IntRange(1, 40).Draw(t, "taps") {
			next, err := tapTest(t, run)
			if err != nil {
				if !reflect.DeepEqual(next, run) {
					t.Fatalf("a refusal (%v) changed %+v to %+v", err, run, next)
				}
				continue
			}
			if len(next.Trials) < len(run.Trials) ||
				!slices.Equal(next.Trials[:len(run.Trials)], run.Trials) {
				t.Fatalf("trials %+v became %+v", run.Trials, next.Trials)
			}
			run = next
		}
		for i, trial := range run.Trials {
			if trial.HeldMS < 0 || trial.HeldMS > 30*60*1000 || trial.Order != int64(i+1) ||
				trial.Down.Works() != trial.Working {
				t.Fatalf("trial %d: %+v", i, trial)
			}
		}
		if run.Phase == sessions.TestDone {
			done++
			_, hasLeft := run.Held(left)
			_, hasRight := run.Held(right)
			if !hasLeft || !hasRight {
				t.Fatalf("done without both sides: %+v", run.Trials)
			}
		}
	})
	if done == 0 {
		t.Error("no walk reached the end: the taps prove little")
	}
}

func tapTest(t *rapid.T, run sessions.TestRun) (sessions.TestRun, error) {
	switch rapid.IntRange(0, 7).Draw(t, "tap") {
	case 0, 1:
		side := rapid.SampledFrom([]sides.Working{left, right, ""}).Draw(t, "side")
		return run.Begin(side, anyReading(t))
	case 2, 3:
		return run.Stop(anyReading(t))
	case 4:
		return run.EndRest(rapid.SampledFrom([]string{"", "in a hurry"}).Draw(t, "note"))
	case 5:
		return run.Resume()
	case 6:
		if rapid.Bool().Draw(t, "discard") {
			return run.Discard()
		}
	}
	reasons := append(sessions.Stops(), "", "bored")
	next, _, err := run.Because(rapid.SampledFrom(reasons).Draw(t, "reason"))
	return next, err
}

// TestAnyWorkRun taps anything at any time. A refusal changes nothing, the run
// only moves on, each set is of the turn that was due, and none claims more than
// was asked of a hold or more than half an hour of a carry.
func TestAnyWorkRun(t *testing.T) {
	sets := 0
	rapid.Check(t, func(t *rapid.T) {
		run := newWork()
		for range rapid.IntRange(1, 30).Draw(t, "taps") {
			due, _ := run.Turn()
			next, set, err := tapWork(t, run)
			if err != nil && !reflect.DeepEqual(next, run) {
				t.Fatalf("a refusal (%v) changed %+v to %+v", err, run, next)
			}
			if next.At < run.At || next.At > run.At+1 || next.At > len(next.Turns) {
				t.Fatalf("turn %d became %d of %d", run.At, next.At, len(next.Turns))
			}
			if !reflect.DeepEqual(set, sessions.Set{}) {
				sets++
				checkSet(t, set, due)
			}
			if next.At == len(next.Turns) && next.Phase != sessions.WorkFeel {
				t.Fatalf("all turns done in phase %q", next.Phase)
			}
			run = next
		}
	})
	if sets < 100 {
		t.Errorf("only %d sets were logged: the taps prove little", sets)
	}
}

func checkSet(t *rapid.T, set sessions.Set, due sessions.Turn) {
	if set.Item != due.Item || set.Asked != due.Asked || set.Working != due.Working ||
		set.Down != due.Down || set.Hand != due.Hand || set.Number != due.Number {
		t.Fatalf("set %+v of turn %+v", set, due)
	}
	if set.Reps < 0 || set.Reps > due.Reps || set.HeldMS < 0 || set.HeldMS > due.Reps*due.HoldMS ||
		set.TimeMS < 0 || set.TimeMS > 30*60*1000 {
		t.Fatalf("set %+v claims more than turn %+v", set, due)
	}
	if due.IsHold && (set.Down.Works() != set.Working || set.Hand != "") ||
		!due.IsHold && (set.Hand.Works() != set.Working || set.Down != "") {
		t.Fatalf("sides of set %+v", set)
	}
}

func tapWork(
	t *rapid.T, run sessions.WorkRun,
) (next sessions.WorkRun, set sessions.Set, err error) {
	switch rapid.IntRange(0, 7).Draw(t, "tap") {
	case 0, 1, 2:
		next, err = run.Begin(anyReading(t))
	case 3, 4:
		stops := append(sessions.Stops(), "", "bored")
		return run.End(anyReading(t), rapid.SampledFrom(stops).Draw(t, "stop"))
	case 5:
		return run.Enter(anyReading(t))
	case 6:
		next, err = run.Skip()
	default:
		next = run.Adjust(4, 1_000, 2_000, 3_000)
	}
	return next, set, err
}
