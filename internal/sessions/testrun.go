package sessions

import (
	"errors"
	"slices"

	"evenhold/internal/sides"
)

// Phases of a running side-hold test.
const (
	TestReady   = "ready"   // a side waits to be started
	TestRunning = "running" // a hold is being timed
	TestReason  = "reason"  // the hold has stopped; why is asked
	TestRest    = "rest"    // between the sides
	TestDone    = "done"
)

// RestBetweenSidesMS is the rest of the protocol between the two sides: five
// minutes ("Endurance times for low back stabilization exercises: clinical
// targets for testing and training from a normal database", Arch Phys Med
// Rehabil 1999;80(8):941-944, doi:10.1016/S0003-9993(99)90087-4; the rest is
// as the trade does it, common practice, no source).
const RestBetweenSidesMS = 5 * 60 * 1000

// MaxHoldMS is the longest hold that is taken for one: half an hour.
const MaxHoldMS = 30 * 60 * 1000

// Refusals of the running test and session. The screens word them.
var (
	ErrPhase     = errors.New("not possible at this point")
	ErrOtherSide = errors.New("the other side is due")
	ErrReason    = errors.New("unknown reason")
	ErrNoteWant  = errors.New("a shorter rest needs a note")
	ErrTooLong   = errors.New("longer than half an hour")
)

// TestRun is a side-hold test or one trunk hold under way. It is stored at every step, so that a
// reload or a dead battery loses nothing: a running hold is its start reading.
type TestRun struct {
	Doc        string
	Trunk      string // which trunk hold; "" for a side-hold test
	Step       string // of a side-hold test
	First      sides.Working
	Drawn      bool
	Facing     bool // the tester faces the athlete
	TimeTold   bool
	Encouraged bool
	TZMin      int64

	Phase    string
	Due      sides.Working // side to hold now, or being held
	Start    Reading       // of the running hold
	HeldMS   int64         // of the stopped hold that waits for its reason
	Clock    string
	RestFrom Reading
	RestNote string
	Test     string  // the test record, once the first trial is written
	Trials   []Trial // in order
}

// NewTestRun returns a test whose first side is due.
func NewTestRun(doc, step string, first sides.Working, drawn bool) TestRun {
	return TestRun{
		Doc: doc, Step: step, First: first, Drawn: drawn, Phase: TestReady, Due: first,
	}
}

// NewTrunkRun returns a trunk hold that is due. It has no sides: Begin takes "".
func NewTrunkRun(doc, what string) TestRun {
	return TestRun{Doc: doc, Trunk: what, Phase: TestReady}
}

// Stops returns the reasons that can be given for the end of a hold of this run.
func (r TestRun) Stops() []string {
	if r.Trunk != "" {
		return TrunkStops()
	}
	return Stops()
}

// Begin starts timing the side that is due. A rest that has not run its five
// minutes is ended only with a note.
func (r TestRun) Begin(side sides.Working, at Reading) (TestRun, error) {
	if r.Phase != TestReady && r.Phase != TestRest {
		return r, ErrPhase
	}
	if side != r.Due {
		return r, ErrOtherSide
	}
	if r.Phase == TestRest && r.RestNote == "" {
		rested, _, err := Elapsed(r.RestFrom, at)
		if err == nil && rested < RestBetweenSidesMS {
			return r, ErrNoteWant
		}
	}
	r.Phase, r.Start, r.HeldMS, r.Clock = TestRunning, at, 0, ""
	return r, nil
}

// EndRest keeps the note that cuts the rest short.
func (r TestRun) EndRest(note string) (TestRun, error) {
	if r.Phase != TestRest {
		return r, ErrPhase
	}
	if note == "" {
		return r, ErrNoteWant
	}
	r.RestNote = note
	return r, nil
}

// Stop ends the running hold and asks why.
func (r TestRun) Stop(at Reading) (TestRun, error) {
	if r.Phase != TestRunning {
		return r, ErrPhase
	}
	held, clock, err := Elapsed(r.Start, at)
	if err != nil {
		return r, err
	}
	if held > MaxHoldMS {
		return r, ErrTooLong
	}
	r.Phase, r.HeldMS, r.Clock = TestReason, held, clock
	r.RestFrom = at
	return r, nil
}

// Resume takes back a stop: the hold runs on from its own start.
func (r TestRun) Resume() (TestRun, error) {
	if r.Phase != TestReason {
		return r, ErrPhase
	}
	r.Phase = TestRunning
	return r, nil
}

// Discard drops a running or stopped hold that should not count at all; its
// side is due again.
func (r TestRun) Discard() (TestRun, error) {
	if r.Phase != TestRunning && r.Phase != TestReason {
		return r, ErrPhase
	}
	r.Phase, r.HeldMS = TestReady, 0
	return r, nil
}

// Because gives the reason of the stop and returns the trial to be written.
// After a tester error the same side is due again; else the other side after
// its rest, or the test is done. A trunk hold's trial has no sides.
func (r TestRun) Because(stop string) (TestRun, Trial, error) {
	if r.Phase != TestReason {
		return r, Trial{}, ErrPhase
	}
	if !slices.Contains(r.Stops(), stop) {
		return r, Trial{}, ErrReason
	}
	trial := Trial{
		Order: int64(len(r.Trials) + 1), Down: sides.DownFor(r.Due), Working: r.Due,
		HeldMS: r.HeldMS, Clock: r.Clock, Stop: stop, StartedMS: r.Start.WallMS,
	}
	r.Trials = append(append([]Trial(nil), r.Trials...), trial)
	switch {
	case stop == StopTesterError:
		r.Phase = TestReady
	case r.Trunk != "":
		r.Phase = TestDone
	case r.Due == r.First:
		r.Phase, r.Due = TestRest, r.First.Other()
	default:
		r.Phase = TestDone
	}
	return r, trial, nil
}

// Held returns the last trial of a side that tells something, and false if
// there is none yet.
func (r TestRun) Held(w sides.Working) (Trial, bool) {
	return Test{Trials: r.Trials}.Last(w)
}
