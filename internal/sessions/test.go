package sessions

import (
	"slices"

	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// Why a hold stopped. Only the first two tell of the trunk's endurance; the
// next four are lower bounds; a tester error tells nothing.
const (
	StopPosition    = "position"
	StopGaveUp      = "gave_up"
	StopArmShoulder = "arm_shoulder"
	StopElsewhere   = "elsewhere" // of a trunk hold: legs, neck or arms went first
	StopPain        = "pain"
	StopLimit       = "limit"
	StopTesterError = "tester_error"
)

// Stops returns the reasons a tester can give, in the order they are offered.
func Stops() []string {
	return []string{StopPosition, StopGaveUp, StopArmShoulder, StopPain, StopTesterError}
}

// FieldNoise of a test keeps the test noise that it was judged by.
const FieldNoise = "noise"

// SideHold is the kind of the timed side-bridge test.
const SideHold = "side_hold"

// Test is one side-hold test with its trials.
type Test struct {
	ID         record.ID
	Step       string // variant held: a step of the ladder
	StartedMS  int64
	TZMin      int64 // minutes east of UTC where it was taken
	First      sides.Working
	Drawn      bool // the first side was drawn at random
	TimeTold   bool
	Encouraged bool
	RestMS     int64 // between the sides
	RestNote   string
	Trials     []Trial
	Noise      string      // that its verdict went by on the phone that took it, as planning keeps it
	Also       []record.ID // tests told with this one: their holds are joined
}

// Trial is one timed hold.
type Trial struct {
	ID        record.ID
	Test      string
	Order     int64
	Down      sides.Down
	Working   sides.Working
	HeldMS    int64
	Clock     string
	Stop      string
	StartedMS int64
}

// IsValue reports whether the hold ended because of the trunk.
func (t Trial) IsValue() bool { return t.Stop == StopPosition || t.Stop == StopGaveUp }

// IsBound reports whether the trunk could have held at least this long.
func (t Trial) IsBound() bool {
	return isBound(t.Stop)
}

func isBound(stop string) bool {
	return stop == StopArmShoulder || stop == StopElsewhere || stop == StopPain ||
		stop == StopLimit
}

// Values returns the test as the fields of a new record; its trials are
// records of their own.
func (t Test) Values() []record.FieldValue {
	var f fields
	f.text("kind", SideHold)
	f.text("step", t.Step)
	f.count("startedMS", t.StartedMS)
	f.count("tzMin", t.TZMin)
	f.text("first", string(t.First))
	f.truth("drawn", t.Drawn)
	f.truth("timeTold", t.TimeTold)
	f.truth("encouraged", t.Encouraged)
	return f
}

// Values returns the trial as the fields of a new record.
func (t Trial) Values() []record.FieldValue {
	var f fields
	f.text("test", t.Test)
	f.count("order", t.Order)
	f.text("down", string(t.Down))
	f.text("working", string(t.Working))
	f.count("heldMS", t.HeldMS)
	f.text("clock", t.Clock)
	f.text("stop", t.Stop)
	f.count("startedMS", t.StartedMS)
	return f
}

// Tests returns the tests of a client document with their trials, oldest
// first. Voided tests and trials are left out, and so are tests without trials.
// A hold that a person joined counts once.
func Tests(d *record.Doc) []Test {
	trials := map[string][]Trial{}
	for _, r := range live(d, KindTrial) {
		t := trialOf(r)
		trials[t.Test] = append(trials[t.Test], t)
	}
	var all []Test
	for _, r := range live(d, KindTest) {
		test := Test{
			ID: r.ID(), Step: text(r, "step"),
			StartedMS: number(r, "startedMS"), TZMin: number(r, "tzMin"),
			First: sides.Working(text(r, "first")), Drawn: truth(r, "drawn"),
			TimeTold: truth(r, "timeTold"), Encouraged: truth(r, "encouraged"),
			RestMS: number(r, "restMS"), RestNote: text(r, "restNote"),
			Noise:  text(r, FieldNoise),
			Trials: trials[r.ID().String()],
		}
		if len(test.Trials) > 0 {
			all = append(all, test)
		}
	}
	return joinedOf(d).onceEach(all)
}

// Is reports whether id names this test or one told with it.
func (t Test) Is(id string) bool {
	return t.ID.String() == id || slices.ContainsFunc(t.Also, func(also record.ID) bool {
		return also.String() == id
	})
}

func trialOf(r *record.Record) Trial {
	return Trial{
		ID: r.ID(), Test: text(r, "test"), Order: number(r, "order"),
		Down: sides.Down(text(r, "down")), Working: sides.Working(text(r, "working")),
		HeldMS: number(r, "heldMS"), Clock: text(r, "clock"), Stop: text(r, "stop"),
		StartedMS: number(r, "startedMS"),
	}
}

// Last returns the last trial of a side that tells something, and false if
// there is none.
func (t Test) Last(w sides.Working) (Trial, bool) {
	for i := len(t.Trials) - 1; i >= 0; i-- {
		if trial := t.Trials[i]; trial.Working == w && trial.Stop != StopTesterError {
			return trial, true
		}
	}
	return Trial{}, false
}
