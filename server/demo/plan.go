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
	items, err := p.items(c.doc, suggestion)
	if err != nil {
		return err
	}
	for _, item := range items {
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
		Ladder: settings().Edition.Version(),
	}.Values()
	_, err = s.coach.create(c.doc, sessions.KindDecision, decision, atMS)
	return err
}

// items are what is prescribed for a suggestion with the coach's changes made: the numbers that
// the coach set stay, and the others of the exercise follow.
func (p planDay) items(d *record.Doc, s progression.Suggestion) ([]sessions.Item, error) {
	var items []sessions.Item
	for _, item := range planning.Prescribe(d, settings(), s).Items {
		if item.Step != p.without {
			items = append(items, p.change(item))
		}
	}
	known, err := planning.Capacity(d)
	if err != nil {
		return nil, err
	}
	for at := range items {
		if items[at].Pinned != "" {
			items[at], _, _ = known.Fit(settings().Edition, items, at, planning.BandFor(s), items[at])
		}
	}
	return items, nil
}

// change makes the coach's changes to a suggested exercise: more repetitions in each set of the
// holds, and the load of the carry, the same for both sides.
func (p planDay) change(item sessions.Item) sessions.Item {
	step, _ := progression.StepByID(item.Step)
	if step.Family == progression.Holds && p.moreReps != 0 {
		for i := range item.Reps {
			item.Reps[i] += p.moreReps
		}
		item = planning.SetPin(item, planning.PinReps, true)
		item = planning.SetPin(item, planning.PinSets, true)
	}
	if step.Family == progression.Carries && p.carryG != 0 {
		item.LoadG = map[sides.Working]int64{sides.WorksLeft: p.carryG, sides.WorksRight: p.carryG}
		item = planning.SetPin(item, planning.PinLoadLeft, true)
		item = planning.SetPin(item, planning.PinLoadRight, true)
	}
	return item
}

// isHold reports whether a step is named by the side that faces down.
func isHold(stepID string) bool {
	step, _ := progression.StepByID(stepID)
	return step.Side == progression.ByDown
}
