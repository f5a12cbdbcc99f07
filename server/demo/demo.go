// Package demo fills a fresh practice with an example: a small coaching room of our own
// invention, the coach who owns it with a second coach and an assistant, eight clients at different
// stages and three months of history, all of it made up.
//
// It goes the ways that people go: an owner claims the practice, phones join by invitation, and
// what they recorded is pushed and judged by the same rules as anyone's. Only the time that is
// handed in and the server's own random secrets differ between two runs. Units are in the names:
// MS milliseconds since 1970 UTC or a length, G grams, S seconds; days and minutes are counted
// in the practice's own time zone.
package demo

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
)

const (
	practiceName = "Plumb Yard"
	coachName    = "Maren D."
)

var errClaimed = errors.New("the practice has an owner already; nothing was changed")

// Fill writes the example practice, as it stands at now, into s and returns one code that lets a
// further phone in as the coach who owns the practice and one as the client who is on track. s
// must be unclaimed and desk its own desk. An error leaves s half filled: start again with a
// fresh one.
func Fill(now time.Time, s *store.Store, desk *access.Desk) (coach, client access.Code, err error) {
	fail := func(err error) (access.Code, access.Code, error) {
		return access.Code{}, access.Code{}, err
	}
	told, err := tell(now.UnixMilli())
	if err != nil {
		return fail(fmt.Errorf("tell the story: %w", err))
	}
	setUp, isNew, err := desk.SetUp(context.Background())
	if err != nil {
		return fail(err)
	}
	if !isNew {
		return fail(errClaimed)
	}
	owner, err := letIn(desk, setUp, told.coach)
	if err != nil {
		return fail(err)
	}
	host := atServer(owner)
	if err := told.furnish(s, now.UnixMilli()); err != nil {
		return fail(err)
	}
	if err := told.coach.send(s, owner, now.UnixMilli()); err != nil {
		return fail(err)
	}
	var shown access.Guest
	for _, c := range told.clients {
		if c.phone == nil {
			continue
		}
		guest := access.Guest{Role: sessions.ClientOf, Name: c.about.Name, Doc: c.doc.ID()}
		if c.isShown {
			shown = guest
		}
		code, _, err := desk.Invite(host, guest)
		if err != nil {
			return fail(err)
		}
		member, err := letIn(desk, code, c.phone)
		if err != nil {
			return fail(err)
		}
		if err := c.phone.send(s, member, now.UnixMilli()); err != nil {
			return fail(err)
		}
	}
	if err := told.hire(desk, host); err != nil {
		return fail(err)
	}
	coach, _, err = desk.Invite(host, access.Guest{
		Role: sessions.Owner, Name: coachName, Person: owner.Person.ID,
	})
	if err != nil {
		return fail(err)
	}
	client, _, err = desk.Invite(host, shown)
	return coach, client, err
}

// atServer is the owner at the server itself: no phone is there to tap that another may come in.
func atServer(owner store.Member) store.Member { return store.Member{Person: owner.Person} }

// letIn lets a phone in, so that it may push what it recorded.
func letIn(desk *access.Desk, code access.Code, p *phone) (store.Member, error) {
	// Nobody keeps the secret: the phones of the story never come back.
	_, hash := access.NewSecret()
	m, err := desk.Join("", code.String(), store.Joining{
		Device: p.pen.Device(), SecretHash: hash, Name: p.who.Name, Practice: practiceName,
	})
	if err != nil {
		return store.Member{}, fmt.Errorf("let %s in: %w", p.who.Name, err)
	}
	return m, nil
}
