package demo

import (
	"fmt"
	"slices"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// Bounds of the rules of the story (ours): an effort at which the last set is given up, and the
// pain above which one stops: pain-monitoring model, Am J Sports Med 2007;35(6):897-906,
// doi:10.1177/0363546506298279, from memory.
const (
	effortGivesUp = 7
	painStops     = 5
)

type visit struct {
	moment
	felt feeling
}

// visits lays the sessions of a training out, counted back from the last.
func (s *story) visits(t training) []visit {
	var all []visit
	day := t.last
	for i := 0; day <= t.first && len(t.gaps) > 0; i++ {
		felt := feeling{
			effort: min(max(t.effort+s.chance.between(-1, 1), 3), 7),
			pain:   s.chance.between(0, 2),
		}
		if i < len(t.lately) {
			felt = t.lately[len(t.lately)-1-i]
		}
		if felt.pain > 0 {
			felt.place = t.place
		}
		minute := t.minute + int(s.chance.between(-20, 20))
		all = append(all, visit{moment{day, minute}, felt})
		day += t.gaps[i%len(t.gaps)]
	}
	slices.Reverse(all)
	return all
}

// train does today's plan on the client's phone, which holds d, and says how it was.
func (s *story) train(c *client, d *record.Doc, felt feeling, atMS int64) error {
	plan, found := sessions.CurrentPlan(d)
	if !found {
		return fmt.Errorf("session of %s: no plan", c.about.Name)
	}
	session := sessions.Session{StartedMS: atMS, TZMin: tzMin, Plan: plan.ID.String(),
		Ladder: sessions.LaddersOf(plan.Items)}
	id, err := c.phone.create(d, sessions.KindSession, session.Values(), atMS)
	if err != nil {
		return err
	}
	run := sessions.WorkRun{
		Doc: d.ID().String(), Session: id.String(), Plan: plan.ID.String(),
		Turns: sessions.Turns(plan.Items, isHold), Phase: sessions.WorkReady,
	}
	at := sessions.Reading{WallMS: atMS, Run: "story"}
	for run.Phase != sessions.WorkFeel {
		at = at.At(run.RestMS + s.chance.between(3_000, 15_000))
		if run, at, err = s.turn(c, d, run, felt, at); err != nil {
			return fmt.Errorf("session of %s: %w", c.about.Name, err)
		}
	}
	at = at.At(s.chance.between(10_000, 60_000))
	return say(c.phone, d, id, felt, at.WallMS)
}

// turn does the set that is due and writes it.
func (s *story) turn(c *client, d *record.Doc, run sessions.WorkRun, felt feeling,
	at sessions.Reading) (sessions.WorkRun, sessions.Reading, error) {
	turn, _ := run.Turn()
	run, err := run.Begin(at)
	if err != nil {
		return run, at, err
	}
	ms, stop := s.lengthOf(turn, felt)
	at = at.At(ms)
	run, set, err := run.End(at, stop)
	if err != nil {
		return run, at, err
	}
	if _, err := c.phone.create(d, sessions.KindSet, set.Values(), at.WallMS); err != nil {
		return run, at, err
	}
	if stop == sessions.StopPain && run.Phase != sessions.WorkFeel {
		run, err = run.Finish()
	}
	return run, at, err
}

// lengthOf returns how long a set lasts, and why it ends early: "" if it does not.
func (s *story) lengthOf(t sessions.Turn, felt feeling) (ms int64, stop string) {
	if !t.IsHold {
		if t.TimeMS == 0 {
			return t.Reps * s.chance.between(4_000, 6_000), "" // a lift
		}
		return t.TimeMS + s.chance.between(-1_500, 3_000), ""
	}
	isLast := t.Number == t.Of
	switch {
	case felt.pain > painStops && isLast && t.Working == sides.WorksLeft:
		return t.LengthMS() - t.HoldMS*2/3, sessions.StopPain
	case felt.effort >= effortGivesUp && isLast:
		return t.LengthMS() - t.HoldMS/3, sessions.StopGaveUp
	}
	return t.LengthMS(), ""
}

// say closes a session with effort and pain.
func say(p *phone, d *record.Doc, session record.ID, felt feeling, atMS int64) error {
	fields := []record.FieldValue{
		{Field: "effort", Value: record.Int(felt.effort)},
		{Field: "pain", Value: record.Int(felt.pain)},
		{Field: "finishedMS", Value: record.Int(atMS)},
	}
	if felt.place != "" {
		fields = append(fields, record.FieldValue{
			Field: "painPlace", Value: record.Text(felt.place),
		})
	}
	for _, f := range fields {
		if err := p.write(d, session, sessions.KindSession, f.Field, f.Value, atMS); err != nil {
			return err
		}
	}
	return nil
}

// logBeside writes the last timed set of the latest session down once more, as the coach saw it.
func (s *story) logBeside(c *client, atMS int64) error {
	done := sessions.Sessions(c.doc)
	sets := done[len(done)-1].Sets
	for _, set := range slices.Backward(sets) {
		if set.DistanceMM == 0 && set.TimeMS == 0 {
			continue
		}
		set.StartedMS += s.chance.between(300, 1_500)
		if set.TimeMS > 0 {
			set.TimeMS += s.chance.between(100, 900)
		}
		_, err := s.coach.create(c.doc, sessions.KindSet, set.Values(), atMS)
		return err
	}
	return fmt.Errorf("sets of %s: no timed set to log twice", c.about.Name)
}
