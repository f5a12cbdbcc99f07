package sessions_test

import (
	"errors"
	"slices"
	"testing"

	"evenhold/internal/sessions"
)

// TestTrunkRun: one hold without sides, ended by a reason of its own, and done.
func TestTrunkRun(t *testing.T) {
	run := sessions.NewTrunkRun("d", sessions.Extensor)
	start := sessions.Reading{WallMS: 1_000_000, MonoMS: 50, Run: "a"}
	if _, err := run.Begin("left", start); !errors.Is(err, sessions.ErrOtherSide) {
		t.Errorf("a side begins a hold without sides: %v", err)
	}
	stopped := func(stop string) (sessions.TestRun, sessions.Trial, error) {
		t.Helper()
		r, err := run.Begin("", start)
		if err == nil {
			r, err = r.Stop(start.At(101_500))
		}
		if err != nil {
			t.Fatal(err)
		}
		return r.Because(stop)
	}
	r, trial, err := stopped(sessions.StopLimit)
	if err != nil || r.Phase != sessions.TestDone || trial.HeldMS != 101_500 ||
		trial.Working != "" || trial.Down != "" {
		t.Errorf("%+v, phase %s, %v", trial, r.Phase, err)
	}
	if r, _, err := stopped(sessions.StopTesterError); err != nil || r.Phase != sessions.TestReady {
		t.Errorf("after a slip: phase %s, %v", r.Phase, err)
	}
	if _, _, err := stopped(sessions.StopArmShoulder); !errors.Is(err, sessions.ErrReason) {
		t.Errorf("a shoulder ends a back hold: %v", err)
	}
	if slices.Contains(sessions.Stops(), sessions.StopElsewhere) {
		t.Error("a side hold offers the reason of a trunk hold")
	}
}
