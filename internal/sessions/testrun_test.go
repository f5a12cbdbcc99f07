package sessions_test

import (
	"errors"
	"reflect"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

const (
	left  = sides.WorksLeft
	right = sides.WorksRight
)

// The protocol that these tests hold: one trial a side, and five minutes of rest
// before the other side (common practice, no source); the first side is drawn,
// as the order was in "Endurance times for low back stabilization exercises:
// clinical targets for testing and training from a normal database", Arch Phys
// Med Rehabil 1999;80(8):941-944, doi:10.1016/S0003-9993(99)90087-4.
const fiveMinutesMS = 300_000

func newRun(first sides.Working) sessions.TestRun {
	return sessions.NewTestRun("doc", "straight_leg_hold", first, true)
}

// script drives a run and fails on the first refusal.
type script struct {
	t   *testing.T
	run sessions.TestRun
}

func (s *script) begin(w sides.Working, atMS int64) *script {
	s.t.Helper()
	run, err := s.run.Begin(w, reading(atMS))
	return s.took("begin", run, err)
}

func (s *script) stop(atMS int64) *script {
	s.t.Helper()
	run, err := s.run.Stop(reading(atMS))
	return s.took("stop", run, err)
}

func (s *script) because(reason string) sessions.Trial {
	s.t.Helper()
	run, trial, err := s.run.Because(reason)
	s.took("because "+reason, run, err)
	return trial
}

func (s *script) took(what string, run sessions.TestRun, err error) *script {
	s.t.Helper()
	if err != nil {
		s.t.Fatalf("%s in phase %q: %v", what, s.run.Phase, err)
	}
	s.run = run
	return s
}

// refuses checks that an attempt is refused and leaves the run as it was.
func refuses(t *testing.T, before, after sessions.TestRun, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("refusal = %v, want %v", err, want)
	}
	if !reflect.DeepEqual(before, after) {
		t.Errorf("a refusal changed the run\nfrom %+v\nto   %+v", before, after)
	}
}

// TestRunBothSides leads a test on either first side to its end. A side bridge
// on the right elbow works the right side (common practice, no source).
func TestRunBothSides(t *testing.T) {
	for _, first := range []sides.Working{left, right} {
		t.Run(string(first)+" first", func(t *testing.T) {
			s := &script{t, newRun(first)}
			one := s.begin(first, 0).stop(94_000).because("gave_up")
			if s.run.Phase != "rest" || s.run.Due != first.Other() {
				t.Fatalf("after one side: %q, %q due", s.run.Phase, s.run.Due)
			}
			two := s.begin(first.Other(), 94_000+fiveMinutesMS).stop(491_000).because("position")
			want := []sessions.Trial{
				{Order: 1, Working: first, Down: sides.Down(first), HeldMS: 94_000, Clock: "mono",
					Stop: "gave_up", StartedMS: 1_000_000},
				{Order: 2, Working: first.Other(), Down: sides.Down(first.Other()), HeldMS: 97_000,
					Clock: "mono", Stop: "position", StartedMS: 1_394_000},
			}
			if got := []sessions.Trial{one, two}; !reflect.DeepEqual(got, want) {
				t.Errorf("trials %+v\nwant   %+v", got, want)
			}
			if s.run.Phase != "done" || !reflect.DeepEqual(s.run.Trials, want) {
				t.Errorf("run ended as %q with %+v", s.run.Phase, s.run.Trials)
			}
			again, err := s.run.Begin(first, reading(2*fiveMinutesMS))
			refuses(t, s.run, again, err, sessions.ErrPhase)
		})
	}
}

func TestRunRefusesTheOtherSide(t *testing.T) {
	s := &script{t, newRun(right)}
	run, err := s.run.Begin(left, reading(0))
	refuses(t, s.run, run, err, sessions.ErrOtherSide)

	s.begin(right, 0).stop(60_000).because("gave_up")
	run, err = s.run.Begin(right, reading(60_000+fiveMinutesMS))
	refuses(t, s.run, run, err, sessions.ErrOtherSide)
	run, err = s.run.Begin("", reading(60_000+fiveMinutesMS))
	refuses(t, s.run, run, err, sessions.ErrOtherSide)
}

// TestRunRests counts the five minutes from the moment the hips came down, not
// from the moment the reason was given.
func TestRunRests(t *testing.T) {
	rested := func(t *testing.T) *script {
		s := &script{t, newRun(left)}
		s.begin(left, 0).stop(60_000).because("gave_up")
		return s
	}
	t.Run("one millisecond short", func(t *testing.T) {
		s := rested(t)
		run, err := s.run.Begin(right, reading(60_000+fiveMinutesMS-1))
		refuses(t, s.run, run, err, sessions.ErrNoteWant)
	})
	t.Run("to the millisecond", func(t *testing.T) {
		rested(t).begin(right, 60_000+fiveMinutesMS)
	})
	t.Run("short with a note", func(t *testing.T) {
		s := rested(t)
		run, err := s.run.EndRest("the hall closes")
		s.took("end rest", run, err).begin(right, 61_000)
		if s.run.RestNote != "the hall closes" {
			t.Errorf("note kept as %q", s.run.RestNote)
		}
	})
	t.Run("short with an empty note", func(t *testing.T) {
		s := rested(t)
		run, err := s.run.EndRest("")
		refuses(t, s.run, run, err, sessions.ErrNoteWant)
	})
	t.Run("phone locked through the rest", func(t *testing.T) {
		s := rested(t)
		woken := sessions.Reading{WallMS: 1_060_000 + fiveMinutesMS, MonoMS: 12, Run: "b"}
		run, err := s.run.Begin(right, woken)
		s.took("begin", run, err)
	})
}

// TestRunRepeatsAfterATesterError holds the side until it has a trial that
// counts; the spoilt one stays on record.
func TestRunRepeatsAfterATesterError(t *testing.T) {
	s := &script{t, newRun(left)}
	s.begin(left, 0).stop(5_000).because("tester_error")
	if s.run.Phase != "ready" || s.run.Due != left {
		t.Fatalf("after a tester error: %q, %q due", s.run.Phase, s.run.Due)
	}
	if _, found := s.run.Held(left); found {
		t.Error("a tester error tells something")
	}
	s.begin(left, 10_000).stop(70_000).because("gave_up")
	s.begin(right, 70_000+fiveMinutesMS).stop(380_000).because("tester_error")
	if s.run.Phase != "ready" || s.run.Due != right {
		t.Fatalf("after a tester error on side two: %q, %q due", s.run.Phase, s.run.Due)
	}
	last := s.begin(right, 400_000).stop(455_000).because("position")
	if s.run.Phase != "done" || last.Order != 4 || len(s.run.Trials) != 4 {
		t.Errorf("ended as %q after %d trials, the last of order %d",
			s.run.Phase, len(s.run.Trials), last.Order)
	}
	held, found := s.run.Held(right)
	if !found || held.HeldMS != 55_000 {
		t.Errorf("right side held %d ms, %t", held.HeldMS, found)
	}
}

// TestStopReasons says of each reason what it tells of the trunk: only position
// lost and giving up end a hold because of it (common practice, no source).
func TestStopReasons(t *testing.T) {
	tests := []struct {
		stop             string
		isValue, isBound bool
	}{
		{"position", true, false}, {"gave_up", true, false},
		{"arm_shoulder", false, true}, {"pain", false, true}, {"limit", false, true},
		{"tester_error", false, false}, {"", false, false}, {"tired", false, false},
	}
	offered := map[string]bool{}
	for _, stop := range sessions.Stops() {
		offered[stop] = true
	}
	for _, tt := range tests {
		trial := sessions.Trial{Stop: tt.stop}
		if trial.IsValue() != tt.isValue || trial.IsBound() != tt.isBound {
			t.Errorf("%q: value %t, bound %t", tt.stop, trial.IsValue(), trial.IsBound())
		}
		s := (&script{t, newRun(left)}).begin(left, 0).stop(30_000)
		run, got, err := s.run.Because(tt.stop)
		if offered[tt.stop] {
			if err != nil || got.Stop != tt.stop || got.HeldMS != 30_000 {
				t.Errorf("%q: %+v, %v", tt.stop, got, err)
			}
			continue
		}
		refuses(t, s.run, run, err, sessions.ErrReason)
	}
	if len(offered) != 5 || offered["limit"] {
		t.Errorf("offered reasons: %v", sessions.Stops())
	}
}

func TestRunResumesAndDiscards(t *testing.T) {
	s := (&script{t, newRun(left)}).begin(left, 1000).stop(20_000)
	run, err := s.run.Resume()
	s.took("resume", run, err).stop(61_000)
	if s.run.HeldMS != 60_000 {
		t.Errorf("a resumed hold ran %d ms, want it from its own start: 60000", s.run.HeldMS)
	}
	run, err = s.run.Discard()
	s.took("discard", run, err)
	if s.run.Phase != "ready" || s.run.Due != left || s.run.HeldMS != 0 || len(s.run.Trials) != 0 {
		t.Errorf("after discarding: %+v", s.run)
	}
	trial := s.begin(left, 90_000).stop(100_000).because("gave_up")
	if trial.HeldMS != 10_000 || trial.Order != 1 {
		t.Errorf("the hold after a discarded one: %+v", trial)
	}
	s = (&script{t, newRun(left)}).begin(left, 0)
	run, err = s.run.Discard()
	if s.took("discard while running", run, err); s.run.Phase != "ready" {
		t.Errorf("discarded a running hold into %q", s.run.Phase)
	}
}

// TestRunBounds refuses what cannot be a hold, and lets the hold stand until it
// is discarded.
func TestRunBounds(t *testing.T) {
	const halfHourMS = 30 * 60 * 1000
	s := (&script{t, newRun(left)}).begin(left, 0)
	run, err := s.run.Stop(reading(halfHourMS + 1))
	refuses(t, s.run, run, err, sessions.ErrTooLong)
	run, err = s.run.Stop(sessions.Reading{WallMS: 999_999, MonoMS: 5, Run: "b"})
	refuses(t, s.run, run, err, sessions.ErrBackwards)
	if s.stop(halfHourMS); s.run.HeldMS != halfHourMS {
		t.Errorf("half an hour was taken as %d ms", s.run.HeldMS)
	}
	s = (&script{t, newRun(left)}).begin(left, 0)
	run, err = s.run.Stop(sessions.Reading{WallMS: 1_050_000, MonoMS: 3, Run: "b"})
	if s.took("stop", run, err); s.run.HeldMS != 50_000 || s.run.Clock != "wall" {
		t.Errorf("across a gap: %d ms by %q", s.run.HeldMS, s.run.Clock)
	}
}

// TestRunPhases tries every action in every phase: what the phase does not offer
// is refused and changes nothing.
func TestRunPhases(t *testing.T) {
	phases := map[string]sessions.TestRun{"ready": newRun(left)}
	s := &script{t, newRun(left)}
	phases["running"] = s.begin(left, 0).run
	phases["reason"] = s.stop(60_000).run
	s.because("gave_up")
	phases["rest"] = s.run
	s.begin(right, 60_000+fiveMinutesMS).stop(500_000).because("gave_up")
	phases["done"] = s.run

	late := reading(600_000)
	actions := map[string]struct {
		offered []string
		do      func(sessions.TestRun) (sessions.TestRun, error)
	}{
		"begin": {[]string{"ready", "rest"}, func(r sessions.TestRun) (sessions.TestRun, error) {
			return r.Begin(r.Due, late)
		}},
		"stop": {[]string{"running"}, func(r sessions.TestRun) (sessions.TestRun, error) {
			return r.Stop(late)
		}},
		"because": {[]string{"reason"}, func(r sessions.TestRun) (sessions.TestRun, error) {
			next, _, err := r.Because("gave_up")
			return next, err
		}},
		"end rest": {[]string{"rest"}, func(r sessions.TestRun) (sessions.TestRun, error) {
			return r.EndRest("in a hurry")
		}},
		"resume":  {[]string{"reason"}, sessions.TestRun.Resume},
		"discard": {[]string{"running", "reason"}, sessions.TestRun.Discard},
	}
	for name, action := range actions {
		for phase, run := range phases {
			if run.Phase != phase {
				t.Fatalf("phase %q was reached as %q", phase, run.Phase)
			}
			next, err := action.do(run)
			isOffered := false
			for _, p := range action.offered {
				isOffered = isOffered || p == phase
			}
			if isOffered && err != nil {
				t.Errorf("%s in %s: %v", name, phase, err)
			}
			if !isOffered {
				refuses(t, run, next, err, sessions.ErrPhase)
			}
		}
	}
}

// TestRunsShareNothing gives two answers from one stored run: the second must not
// write into the first.
func TestRunsShareNothing(t *testing.T) {
	s := (&script{t, newRun(left)}).begin(left, 0).stop(30_000)
	s.run.Trials = make([]sessions.Trial, 0, 4)
	one, _, err := s.run.Because("gave_up")
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.run.Because("pain"); err != nil {
		t.Fatal(err)
	}
	if got := one.Trials[0].Stop; got != "gave_up" {
		t.Errorf("the first answer now says %q", got)
	}
}
