package demo

import (
	"fmt"
	"slices"
	"time"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
)

// accept takes the plan that is suggested after the latest test, with the coach's changes.
func (s *story) accept(c *client, p planDay, atMS int64) error {
	tests := sessions.Tests(c.doc)
	if len(tests) == 0 {
		return fmt.Errorf("plan of %s: no test", c.about.Name)
	}
	test := tests[len(tests)-1]
	suggestion := progression.Suggest(inputOf(c, test))
	if suggestion.Refusal != "" {
		return fmt.Errorf("plan of %s: %s", c.about.Name, suggestion.Refusal)
	}
	plan := sessions.Plan{Test: test.ID.String(), AcceptedMS: atMS}
	planID, err := s.coach.create(c.doc, sessions.KindPlan, plan.Values(), atMS)
	if err != nil {
		return err
	}
	for place, suggested := range suggestion.Items {
		if suggested.StepID == p.without {
			continue
		}
		item := p.change(itemOf(suggested, place))
		item.Plan = planID.String()
		if _, err := s.coach.create(c.doc, sessions.KindItem, item.Values(), atMS); err != nil {
			return err
		}
	}
	state := "accepted"
	if p.reason != "" {
		state = "changed"
	}
	decision := sessions.DecisionValues("plan", state, p.reason, test.ID.String(), atMS)
	_, err = s.coach.create(c.doc, sessions.KindDecision, decision, atMS)
	return err
}

// inputOf is what a suggestion is made from, as the coach's phone gathers it.
func inputOf(c *client, test sessions.Test) progression.Input {
	step, _ := progression.StepByID(test.Step)
	in := progression.Input{MassG: c.about.MassG, Posture: step.Posture}
	_, in.RedFlagOpen = sessions.OpenFlag(c.doc)
	for _, done := range slices.Backward(sessions.Sessions(c.doc)) {
		if done.Pain >= 0 {
			in.PainNow = progression.Rated(int(done.Pain))
			break
		}
	}
	in.LeftHold, in.RightHold = holdOf(test, sides.WorksLeft), holdOf(test, sides.WorksRight)
	found := compare(test)
	in.Weaker, in.LargerThanNoise = found.Weaker, found.Verdict == symmetry.LargerThanNoise
	return in
}

func holdOf(t sessions.Test, w sides.Working) progression.Hold {
	trial, found := t.Last(w)
	return progression.Hold{
		Tested: found, Held: time.Duration(trial.HeldMS) * time.Millisecond,
		AtLeast: trial.IsBound(), Stop: progression.StopReason(trial.Stop),
	}
}

func compare(t sessions.Test) symmetry.Comparison {
	var trials []symmetry.Trial
	for _, trial := range t.Trials {
		trials = append(trials, symmetry.Trial{
			Side: trial.Working, Hold: time.Duration(trial.HeldMS) * time.Millisecond,
			Stop: symmetry.Stop(trial.Stop),
		})
	}
	return symmetry.Compare(trials, symmetry.DefaultModel())
}

// orderKeys leave room to put an exercise between two others later.
var orderKeys = []string{"b", "h", "n", "t"}

func itemOf(s progression.Item, place int) sessions.Item {
	dose := s.WorksLeft
	item := sessions.Item{
		Step: s.StepID, Order: orderKeys[place],
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

// change makes the coach's changes to a suggested exercise: repetitions of the holds, and the
// load of the carry, the same for both sides.
func (p planDay) change(item sessions.Item) sessions.Item {
	step, _ := progression.StepByID(item.Step)
	if step.Family == progression.Holds && p.reps != nil {
		item.Reps = p.reps
	}
	if step.Family == progression.Carries && p.carryG != 0 {
		item.LoadG = map[sides.Working]int64{sides.WorksLeft: p.carryG, sides.WorksRight: p.carryG}
	}
	return item
}

// isHold reports whether a step is named by the side that faces down.
func isHold(stepID string) bool {
	step, _ := progression.StepByID(stepID)
	return step.Side == progression.ByDown
}
