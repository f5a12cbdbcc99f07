package planning

import (
	"time"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// dayMS is the length of a day.
const dayMS = 86_400_000

// Next is what to do from now on with one item of the plan in force.
type Next struct {
	Item     sessions.Item
	Decision progression.Decision
	SinceMS  int64 // when the latest session or test was, on which the decision rests; 0: none
}

// Decide suggests what is next for each item of the plan in force, in the plan's
// order, from the sessions done under it and the tests; nil without a plan. nowMS
// is the present instant.
func Decide(d *record.Doc, p Practice, nowMS int64) []Next {
	plan, found := sessions.CurrentPlan(d)
	if !found {
		return nil
	}
	shared, sinceMS := evidence(d, p, nowMS)
	log := logOf(d)
	for _, s := range log.done {
		if s.Plan == plan.ID.String() {
			sinceMS = max(sinceMS, s.FinishedMS)
		}
	}
	var all []Next
	for _, item := range plan.Items {
		e := shared
		e.Item, e.Sessions = suggested(item), log.of(item)
		all = append(all, Next{Item: item, Decision: progression.Decide(e), SinceMS: sinceMS})
	}
	return all
}

// evidence is what holds for every item: the flag, the body, the latest test and
// how it moved since the one before.
func evidence(d *record.Doc, p Practice, nowMS int64) (progression.Evidence, int64) {
	client, _ := sessions.ClientIn(d)
	e := progression.Evidence{
		MassG: client.MassG, DaysSinceTest: -1, Implements: p.ImplementsG, Edition: p.Edition,
	}
	_, e.RedFlagOpen = sessions.OpenFlag(d)
	tests := sessions.Tests(d)
	if len(tests) == 0 {
		return e, 0
	}
	test := tests[len(tests)-1]
	step, _ := progression.StepByID(test.Step)
	e.Posture = step.Posture
	e.DaysSinceTest = int(max(nowMS-test.StartedMS, 0) / dayMS)
	e.LeftHold, e.RightHold = holdOf(test, sides.WorksLeft), holdOf(test, sides.WorksRight)
	e.ShoulderSore = e.LeftHold.Stop == progression.StopArmShoulder ||
		e.RightHold.Stop == progression.StopArmShoulder
	e.LeftChange = moved(tests, sides.WorksLeft, p.Noise)
	e.RightChange = moved(tests, sides.WorksRight, p.Noise)
	return e, test.StartedMS
}

// moved judges a side's latest test against the one before, by the test noise.
func moved(tests []sessions.Test, w sides.Working, m symmetry.Model) progression.Change {
	c, found := Changed(tests, w, m)
	switch {
	case found && c.Verdict == symmetry.Longer:
		return progression.Better
	case found && c.Verdict == symmetry.Shorter:
		return progression.Worse
	}
	return ""
}

// Changed compares the last of tests with the one before of the same variant, for
// one working side; false when there is none, or a side was not held.
func Changed(tests []sessions.Test, w sides.Working, m symmetry.Model) (symmetry.Change, bool) {
	if len(tests) == 0 {
		return symmetry.Change{}, false
	}
	latest := tests[len(tests)-1]
	var before sessions.Trial
	earlier := 0
	for _, t := range tests[:len(tests)-1] {
		if trial, held := t.Last(w); held && t.Step == latest.Step {
			before, earlier = trial, earlier+1
		}
	}
	now, held := latest.Last(w)
	if !held || earlier == 0 {
		return symmetry.Change{}, false
	}
	return symmetry.ChangeOf(Timed(before), Timed(now), earlier, m), true
}

// Timed is a trial as the statistics read it.
func Timed(t sessions.Trial) symmetry.Timed {
	return symmetry.Timed{
		Hold: time.Duration(t.HeldMS) * time.Millisecond, Stop: symmetry.Stop(t.Stop),
	}
}

// suggested is a plan item as the ladder reads it: the way back of Item.
func suggested(i sessions.Item) progression.Item {
	dose := progression.Dose{
		HoldS: int(i.HoldMS / 1000), RestBetweenRepsS: int(i.RestRepMS / 1000),
		RestBetweenSetsS: int(i.RestSetMS / 1000), DistanceM: int(i.DistanceMM / 1000),
		TimeS: int(i.TimeMS / 1000), FirstSide: i.First, ExtraSetsWeaker: int(i.ExtraSets),
	}
	for _, n := range i.Reps {
		dose.Reps = append(dose.Reps, int(n))
	}
	item := progression.Item{StepID: i.Step, WorksLeft: dose, WorksRight: dose}
	item.WorksLeft.LoadG = i.LoadG[sides.WorksLeft]
	item.WorksRight.LoadG = i.LoadG[sides.WorksRight]
	return item
}
