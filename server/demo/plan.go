package demo

import (
	"fmt"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// accept takes the plan that is suggested after the latest test, with the coach's changes.
func (s *story) accept(c *client, p planDay, atMS int64) error {
	suggestion, test := planning.First(c.doc, settings())
	if test.ID == (record.ID{}) {
		return fmt.Errorf("plan of %s: no test", c.about.Name)
	}
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
		item := p.change(settings().Item(suggested, place))
		item.Plan = planID.String()
		if _, err := s.coach.create(c.doc, sessions.KindItem, item.Values(), atMS); err != nil {
			return err
		}
	}
	state := sessions.Accepted
	if p.reason != "" {
		state = sessions.Changed
	}
	decision := sessions.Decision{
		About: "plan", State: state, Reason: p.reason, Test: test.ID.String(), AtMS: atMS,
	}.Values()
	_, err = s.coach.create(c.doc, sessions.KindDecision, decision, atMS)
	return err
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
