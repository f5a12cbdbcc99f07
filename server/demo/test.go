package demo

import (
	"fmt"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// test takes a side-hold test on the coach's phone: a hold, its reason, five minutes' rest and a
// little more, the other side.
func (s *story) test(c *client, t testDay, atMS int64) error {
	run := sessions.NewTestRun(c.doc.ID().String(), t.step, t.first, true)
	run.TZMin = tzMin
	at := sessions.Reading{WallMS: atMS, Run: "story"}
	for i, w := range []sides.Working{t.first, t.first.Other()} {
		if i > 0 {
			at = at.At(sessions.RestBetweenSidesMS + s.chance.between(4_000, 50_000))
		}
		h := t.left
		if w == sides.WorksRight {
			h = t.right
		}
		var err error
		if run, err = run.Begin(w, at); err != nil {
			return fmt.Errorf("test of %s: %w", c.about.Name, err)
		}
		at = at.At(h.seconds*1000 + s.chance.between(0, 999))
		if run, err = run.Stop(at); err != nil {
			return fmt.Errorf("test of %s: %w", c.about.Name, err)
		}
		at = at.At(s.chance.between(2_000, 9_000))
		if run, err = s.trial(c, run, h.stop, at.WallMS); err != nil {
			return fmt.Errorf("test of %s: %w", c.about.Name, err)
		}
	}
	id, err := record.ParseID(run.Test)
	if err != nil {
		return err
	}
	done := record.Int(at.WallMS)
	return s.coach.write(c.doc, id, sessions.KindTest, "finishedMS", done, at.WallMS)
}

// trial writes the stopped hold; the first of a test writes the test before it.
func (s *story) trial(c *client, run sessions.TestRun, stop string, atMS int64) (
	sessions.TestRun, error) {
	run, trial, err := run.Because(stop)
	if err != nil {
		return run, err
	}
	if run.Test == "" {
		test := sessions.Test{
			Step: run.Step, StartedMS: run.Start.WallMS, TZMin: run.TZMin, First: run.First,
			Drawn: run.Drawn, TimeTold: run.TimeTold, Encouraged: run.Encouraged,
		}
		id, err := s.coach.create(c.doc, sessions.KindTest, test.Values(), atMS)
		if err != nil {
			return run, err
		}
		run.Test = id.String()
	}
	trial.Test = run.Test
	_, err = s.coach.create(c.doc, sessions.KindTrial, trial.Values(), atMS)
	return run, err
}

// trunk times one hold of the back or front.
func (s *story) trunk(c *client, t trunkDay, atMS int64) error {
	held := sessions.Trunk{
		What: t.what, StartedMS: atMS, TZMin: tzMin, Clock: sessions.ClockMono,
		HeldMS: t.hold.seconds*1000 + s.chance.between(0, 999), Stop: t.hold.stop,
	}
	_, err := s.coach.create(c.doc, sessions.KindTrunk, held.Values(), atMS+held.HeldMS)
	return err
}
