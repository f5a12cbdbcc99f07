// Package planning stands between a client's record and the ladder: it gathers from
// the record what a suggestion is made from, and makes plan items of what is suggested.
//
// Pure: the same record gives the same suggestion on a phone and on the server. Units
// stand in the names of fields: milliseconds, grams, millimetres.
package planning

import (
	"slices"
	"time"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// Practice is what a practice sets for all of its clients.
type Practice struct {
	Noise       symmetry.Model
	ImplementsG []int64 // weights at hand in grams; empty: not listed
	Edition     progression.Edition
}

// First suggests a first plan from the latest test of a client's record, and returns
// that test too; the zero Test where there is none.
func First(d *record.Doc, p Practice) (progression.Suggestion, sessions.Test) {
	client, _ := sessions.ClientIn(d)
	in := progression.Input{MassG: client.MassG, Implements: p.ImplementsG, Edition: p.Edition}
	_, in.RedFlagOpen = sessions.OpenFlag(d)
	if last, found := LastPain(d); found {
		in.PainNow = progression.Rated(int(last))
	}
	var test sessions.Test
	if tests := sessions.Tests(d); len(tests) > 0 {
		test = tests[len(tests)-1]
		step, _ := progression.StepByID(test.Step)
		in.Posture = step.Posture
		in.LeftHold, in.RightHold = holdOf(test, sides.WorksLeft), holdOf(test, sides.WorksRight)
		comparison := Compare(test, p.Noise)
		in.Weaker = comparison.Weaker
		in.LargerThanNoise = comparison.Verdict == symmetry.LargerThanNoise
	}
	return progression.Suggest(in), test
}

// LastPain returns the pain, 0 to 10, that was said last, after a session or before one.
func LastPain(d *record.Doc) (int64, bool) {
	for _, session := range slices.Backward(sessions.Sessions(d)) {
		if pain, said := session.LastPain(); said {
			return pain, true
		}
	}
	return 0, false
}

// Compare says what one test's trials tell of the two working sides. Tests of other
// days are not mixed in: a person changes. m is the test noise to go by.
func Compare(t sessions.Test, m symmetry.Model) symmetry.Comparison {
	var trials []symmetry.Trial
	for _, trial := range t.Trials {
		trials = append(trials, symmetry.Trial{
			Side: trial.Working, Hold: time.Duration(trial.HeldMS) * time.Millisecond,
			Stop: symmetry.Stop(trial.Stop),
		})
	}
	return symmetry.Compare(trials, m)
}

// holdOf is a working side's hold as the ladder reads it.
func holdOf(t sessions.Test, w sides.Working) progression.Hold {
	trial, found := t.Last(w)
	return progression.Hold{
		Tested: found, Held: time.Duration(trial.HeldMS) * time.Millisecond,
		AtLeast: trial.IsBound(), Stop: progression.StopReason(trial.Stop),
	}
}

// orderKeys leave room to put an item between two others later.
var orderKeys = []string{"b", "h", "n", "t"}

// Item makes the plan item of a suggested one that stands at place, counted from 0. It
// carries the practice's own words and the version of the ladders with it.
func (p Practice) Item(s progression.Item, place int) sessions.Item {
	dose := s.WorksLeft
	step, _ := p.Edition.Step(s.StepID)
	item := sessions.Item{
		Ladder: p.Edition.Version(), Cues: step.OwnCues(),
		Step: s.StepID, Order: orderKeys[place%len(orderKeys)],
		HoldMS: int64(dose.HoldS) * 1000, RestRepMS: int64(dose.RestBetweenRepsS) * 1000,
		RestSetMS: int64(dose.RestBetweenSetsS) * 1000,
		LoadG: map[sides.Working]int64{
			sides.WorksLeft: s.WorksLeft.LoadG, sides.WorksRight: s.WorksRight.LoadG,
		},
		DistanceMM: int64(dose.DistanceM) * 1000, TimeMS: int64(dose.TimeS) * 1000,
		First: dose.FirstSide, Weaker: dose.FirstSide, ExtraSets: int64(dose.ExtraSetsWeaker),
	}
	for _, n := range dose.Reps {
		item.Reps = append(item.Reps, int64(n))
	}
	return item
}
