package demo

import (
	"cmp"
	"fmt"
	"slices"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

const (
	tzMin    = 60 // minutes east of UTC where the practice lies
	minuteMS = 60_000
	dayMS    = 24 * 60 * minuteMS

	// chanceSeed starts the noise; any number would do.
	chanceSeed = 8420
)

// client is one client record as the story goes on, and the client's phone, if there is one.
type client struct {
	person
	doc   *record.Doc
	phone *phone
}

// event is something that happens at a time of the story.
type event struct {
	atMS int64
	run  func(atMS int64) error
}

// story is the history of the practice while it is told. All phones see what all others wrote,
// but for the one that is away at the end.
type story struct {
	midnightMS int64 // the beginning of today
	chance     noise
	coach      *phone
	colleagues []*phone
	clients    []*client
	events     []event
}

// tell plays the history that leads up to nowMS and returns what everyone recorded. What happens
// is stamped in order of time: one coach's phone goes through all records.
func tell(nowMS int64) (*story, error) {
	local := nowMS + tzMin*minuteMS
	s := &story{midnightMS: nowMS - local%dayMS, chance: chanceSeed}
	// Identities follow the time, so that no two examples share records.
	devices := noise(nowMS)
	s.coach = newPhone(device(&devices), sessions.Author{Name: coachName, Role: sessions.Owner})
	for _, p := range people() {
		c := &client{person: p}
		if p.hasPhone {
			who := sessions.Author{Name: p.about.Name, Role: sessions.ClientOf}
			c.phone = newPhone(device(&devices), who)
		}
		s.clients = append(s.clients, c)
		s.schedule(c)
	}
	for _, who := range colleagues {
		s.colleagues = append(s.colleagues, newPhone(device(&devices), who))
	}
	slices.SortStableFunc(s.events, func(a, b event) int { return cmp.Compare(a.atMS, b.atMS) })
	for _, e := range s.events {
		if err := e.run(e.atMS); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func device(n *noise) clock.Device { return clock.Device(max(n.next(), 1)) }

func (s *story) on(m moment, run func(atMS int64) error) {
	atMS := s.midnightMS - int64(m.day)*dayMS + int64(m.minute)*minuteMS
	s.events = append(s.events, event{atMS, run})
}

func (s *story) schedule(c *client) {
	s.on(c.added, func(atMS int64) error { return s.add(c, atMS) })
	for _, screen := range c.screens {
		s.on(screen.moment, func(atMS int64) error {
			return s.screen(c, screen.yes, atMS)
		})
	}
	for _, t := range c.tests {
		s.on(t.moment, func(atMS int64) error { return s.test(c, t, atMS) })
	}
	for _, t := range c.trunks {
		s.on(t.moment, func(atMS int64) error { return s.trunk(c, t, atMS) })
	}
	for _, p := range c.plans {
		s.on(p.moment, func(atMS int64) error { return s.accept(c, p, atMS) })
	}
	for _, v := range s.visits(c.training) {
		s.on(v.moment, func(atMS int64) error { return s.train(c, c.doc, v.felt, atMS) })
	}
	if c.beside != (moment{}) {
		s.on(c.beside, func(atMS int64) error { return s.logBeside(c, atMS) })
	}
	if c.away != nil {
		s.scheduleAway(c, *c.away)
	}
}

func (s *story) add(c *client, atMS int64) error {
	c.doc = record.NewDoc(s.coach.pen.NextID())
	_, err := s.coach.create(c.doc, sessions.KindClient, c.about.Values(), atMS)
	return err
}

// screen answers the safety screen: no to all but yes, which may be empty.
func (s *story) screen(c *client, yes string, atMS int64) error {
	answers := map[string]bool{}
	for _, q := range sessions.Questions() {
		answers[q.ID] = q.ID == yes
	}
	_, err := s.coach.create(c.doc, sessions.KindScreen, sessions.ScreenValues(answers, atMS), atMS)
	return err
}

// scheduleAway plays a day on which the client's phone has no connection: client and coach change
// the same load without knowing of each other, and the phone comes back in the evening.
func (s *story) scheduleAway(c *client, a awayDay) {
	var away *record.Doc
	s.on(a.leaves, func(int64) error {
		away = record.NewDoc(c.doc.ID())
		return away.Merge(c.doc)
	})
	s.on(a.coachAt, func(atMS int64) error {
		return setLoad(s.coach, c.doc, a.coachG, atMS)
	})
	s.on(a.clientAt, func(atMS int64) error {
		if err := setLoad(c.phone, away, a.clientG, atMS); err != nil {
			return err
		}
		return s.train(c, away, a.felt, atMS+2*minuteMS)
	})
	s.on(a.returns, func(int64) error { return c.doc.Merge(away) })
}

// setLoad changes what the left side of the trunk works against in the plan's carry.
func setLoad(p *phone, d *record.Doc, loadG, atMS int64) error {
	plan, _ := sessions.CurrentPlan(d)
	for _, item := range plan.Items {
		if item.LoadG[sides.WorksLeft] > 0 {
			return p.write(d, item.ID, sessions.KindItem, sessions.FieldLoadWorksLeftG,
				record.Int(loadG), atMS)
		}
	}
	return fmt.Errorf("plan of %s: no load to change", p.who.Name)
}
