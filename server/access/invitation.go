package access

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// How long the code of an invitation stays good. One that is shown on a phone is made again by a
// tap. At the server itself nobody is there to tap, and who is meant may be elsewhere.
const (
	CodeLife    = 10 * time.Minute // made on a phone
	ConsoleLife = 24 * time.Hour   // the set-up link, and invitations made on the server itself
)

// ErrInvitation says that this person may not invite that one.
var ErrInvitation = errors.New("this invitation is not yours to give")

// Desk lets phones in: it makes invitations and takes them back. It is safe for
// concurrent use.
type Desk struct {
	store *store.Store
	key   Key
	now   func() time.Time
	gate  *gate
}

// NewDesk returns the desk of a practice.
func NewDesk(s *store.Store, key Key, now func() time.Time) *Desk {
	return &Desk{store: s, key: key, now: now, gate: newGate(now)}
}

// Guest is who an invitation is for.
type Guest struct {
	Role sessions.Role
	Name string
	Doc  record.ID // for a client: the document they will see
	// Person is the id of a coach, an assistant or the owner who is known already and gets
	// another phone; "" for somebody new.
	Person string
}

// Invite makes an invitation from member by for guest g. A client may be
// invited by whoever may open a client record and prescribe, staff by the owner, and a further
// phone of their own by anyone. Made on a phone, it needs a tap there before anybody comes in.
// It returns ErrInvitation for anyone else.
func (d *Desk) Invite(by store.Member, g Guest) (Code, time.Time, error) {
	isSelf := g.Person != "" && g.Person == by.Person.ID
	if !isSelf && !mayInvite(by.Person.Role, g.Role) ||
		(g.Role == sessions.ClientOf) == g.Doc.IsZero() {
		return Code{}, time.Time{}, ErrInvitation
	}
	return d.add(by, g)
}

// InviteOwner makes an invitation for the owner there is, who has lost every phone: it is for
// the machine's own administrator. It returns store.ErrNotFound before there is an owner.
func (d *Desk) InviteOwner(ctx context.Context) (Code, time.Time, error) {
	staff, err := d.store.Staff(ctx)
	if err != nil {
		return Code{}, time.Time{}, err
	}
	for _, p := range staff {
		if p.Role == sessions.Owner {
			return d.add(store.Member{}, Guest{Role: sessions.Owner, Person: p.ID})
		}
	}
	return Code{}, time.Time{}, store.ErrNotFound
}

func mayInvite(by, guest sessions.Role) bool {
	switch guest {
	case sessions.ClientOf:
		return by == sessions.Owner || by == sessions.Coach
	case sessions.Coach, sessions.Assistant:
		return by == sessions.Owner
	}
	return false
}

// SetUp makes the invitation that its owner claims a new practice with, in place
// of any earlier one. It reports false if the practice has an owner.
func (d *Desk) SetUp(ctx context.Context) (Code, bool, error) {
	if err := d.store.DropOwnerInvitations(); err != nil {
		return Code{}, false, err
	}
	if has, err := d.store.HasOwner(ctx); err != nil || has {
		return Code{}, false, err
	}
	code, _, err := d.add(store.Member{}, Guest{Role: sessions.Owner})
	return code, err == nil, err
}

func (d *Desk) add(by store.Member, g Guest) (Code, time.Time, error) {
	now := d.now()
	life, isOnPhone := ConsoleLife, by.Device != 0
	if isOnPhone {
		life = CodeLife
	}
	expires := now.Add(life)
	for range 20 {
		code := NewCode()
		err := d.store.AddInvitation(store.Invitation{
			Handle: code.handle, SecretMAC: d.key.mac(code), Role: g.Role, Name: g.Name, Doc: g.Doc,
			Person: g.Person, NeedsTap: isOnPhone,
			MadeBy: by, ExpiresMS: expires.UnixMilli(),
		}, now.UnixMilli())
		if !errors.Is(err, store.ErrTaken) {
			return code, expires, err
		}
	}
	return Code{}, time.Time{}, fmt.Errorf("invite: no free handle: %w", store.ErrTaken)
}

// Look returns what an invitation offers and leaves it open. address is where the
// question comes from. Errors: ErrSlow, and those of store.Store.Look; a text that
// is no code is store.ErrWrongCode like any other guess.
func (d *Desk) Look(address, code string) (inv store.Invitation, err error) {
	err = d.gate.pass(address, func() error {
		c, err := ParseCode(code)
		if err != nil {
			return store.ErrWrongCode
		}
		inv, err = d.store.Look(c.handle, d.key.mac(c), d.now().UnixMilli())
		return err
	})
	return inv, err
}

// Join uses an invitation up and lets the phone in. Errors: those of Look and of store.Store.Join.
func (d *Desk) Join(address, code string, j store.Joining) (m store.Member, err error) {
	err = d.gate.pass(address, func() error {
		c, err := ParseCode(code)
		if err != nil {
			return store.ErrWrongCode
		}
		m, err = d.store.Join(c.handle, d.key.mac(c), j, d.now().UnixMilli())
		return err
	})
	return m, err
}
