package demo

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// yearsSeed starts the chance of the busy practice; any number would do.
const yearsSeed = 5200

const (
	weekMS       = 7 * dayMS
	yearWeeks    = 52
	retestWeeks  = 8
	testAfterMin = 20 // minutes from one client's test to the next one's
)

// Years is a made-up practice as busy as its size allows: each client is in training all the
// time, three times a week by the plan that the first test of the year led to, and is tested
// every eight weeks. Real practices have clients who pause and leave.
type Years struct{ Clients, Weeks int }

// grown is what Years is made with.
type grown struct {
	story
	store *store.Store
	owner store.Member
	nowMS int64 // of the server's clock, which goes along
}

// Fill writes the practice into s, which is new, so that its last week ends at endMS. Every phone
// joins and sends week by week, and each operation is judged, as with anyone's; each write waits
// for the disk. The same arguments lead to the same client records.
func (y Years) Fill(endMS int64, s *store.Store, key access.Key) error {
	beginMS := endMS - int64(y.Weeks)*weekMS
	g := &grown{story: story{chance: yearsSeed}, store: s, nowMS: beginMS}
	desk := access.NewDesk(s, key, func() time.Time { return time.UnixMilli(g.nowMS) })
	devices := noise(yearsSeed + 1)
	g.coach = newPhone(device(&devices), sessions.Author{Name: coachName, Role: sessions.Owner})
	if err := g.claim(desk); err != nil {
		return err
	}
	for i := range y.Clients {
		c := g.stranger(i)
		who := sessions.Author{Name: c.about.Name, Role: sessions.ClientOf}
		c.phone = newPhone(device(&devices), who)
		g.clients = append(g.clients, c)
	}
	members := make([]store.Member, y.Clients)
	for week := range y.Weeks {
		fromMS := beginMS + int64(week)*weekMS
		if err := g.coachWeek(week, fromMS); err != nil {
			return fmt.Errorf("week %d: %w", week, err)
		}
		for i, c := range g.clients {
			if week == 0 {
				var err error
				if members[i], err = g.invite(desk, c); err != nil {
					return err
				}
			}
			if err := g.clientWeek(c, members[i], fromMS); err != nil {
				return fmt.Errorf("week %d: %w", week, err)
			}
		}
		g.nowMS = fromMS + weekMS
	}
	return nil
}

func (g *grown) claim(desk *access.Desk) error {
	code, isNew, err := desk.SetUp(context.Background())
	if err != nil {
		return err
	}
	if !isNew {
		return errClaimed
	}
	g.owner, err = letIn(desk, code, g.coach)
	return err
}

func (g *grown) invite(desk *access.Desk, c *client) (store.Member, error) {
	code, _, err := desk.Invite(atServer(g.owner), access.Guest{
		Role: sessions.ClientOf, Name: c.about.Name, Doc: c.doc.ID(),
	})
	if err != nil {
		return store.Member{}, err
	}
	return letIn(desk, code, c.phone)
}

// stranger is a client of whom nothing is told but what plans need.
func (g *grown) stranger(i int) *client {
	return &client{person: person{
		about: sessions.Client{
			Name: fmt.Sprintf("Client %d", i+1), Sex: []string{"female", "male"}[i%2],
			BirthYear: g.chance.between(1950, 2005), StatureMM: g.chance.between(1550, 1950),
			MassG: g.chance.between(52_000, 98_000), Complaint: "Tires on one side", Dominant: "right",
		},
		training: training{effort: g.chance.between(4, 6), place: "low back"},
	}}
}

// coachWeek is what the coach does from one client to the next: the first week takes everyone
// in, later ones test the eighth part of them that is due.
func (g *grown) coachWeek(week int, fromMS int64) error {
	for i, c := range g.clients {
		atMS := fromMS + int64(i*testAfterMin)*minuteMS
		isNew := week == 0
		if !isNew && (week+i)%retestWeeks != 0 {
			continue
		}
		if isNew {
			if err := errors.Join(g.add(c, atMS), g.screen(c, "", atMS)); err != nil {
				return err
			}
		}
		if err := g.test(c, g.heldToday(), atMS); err != nil {
			return err
		}
		if isNew || week%yearWeeks < retestWeeks {
			if err := g.accept(c, planDay{without: deadlift}, atMS+15*minuteMS); err != nil {
				return err
			}
		}
	}
	g.nowMS = fromMS + int64(len(g.clients)*testAfterMin)*minuteMS
	return g.coach.send(g.store, g.owner, g.nowMS)
}

func (g *grown) heldToday() testDay {
	return testDay{
		step: straightLeg, first: sides.WorksLeft,
		left: gaveUp(g.chance.between(40, 80)), right: gaveUp(g.chance.between(40, 80)),
	}
}

// clientWeek trains three times and sends. What the phone has of earlier weeks changes nothing in
// what it writes, so that only the coach's part is held in memory.
func (g *grown) clientWeek(c *client, m store.Member, fromMS int64) error {
	held := record.NewDoc(c.doc.ID())
	if err := c.phone.introduce(c.doc, fromMS); err != nil {
		return err
	}
	if err := held.Merge(c.doc); err != nil {
		return err
	}
	for _, day := range []int64{2, 4, 6} {
		atMS := fromMS + day*dayMS + g.chance.between(6, 20)*60*minuteMS
		felt := feeling{effort: c.training.effort + g.chance.between(-1, 1)}
		if felt.pain = g.chance.between(0, 2); felt.pain > 0 {
			felt.place = c.training.place
		}
		if err := g.train(c, held, felt, atMS); err != nil {
			return err
		}
	}
	return c.phone.send(g.store, m, max(g.nowMS, fromMS+weekMS))
}
