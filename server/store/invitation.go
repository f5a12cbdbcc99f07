package store

import (
	"bytes"
	"cmp"
	"context"
	"crypto/subtle"
	"database/sql"
	"errors"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// MaxTries is the number of wrong secrets after which an invitation is dead.
const MaxTries = 5

// retryMS is how long a phone that did not get the answer to its join may ask again.
const retryMS = 10 * 60 * 1000

// Invitation lets one phone in, once.
type Invitation struct {
	Handle    string
	SecretMAC []byte
	Role      sessions.Role
	Name      string    // of the person invited; "" lets the person say it
	Doc       record.ID // for a client: the document they will see
	MadeBy    Member    // zero for the set-up invitation, and one made on the server itself
	Person    string    // id of whom it is for, if they are known; "" for somebody new
	ExpiresMS int64
	// NeedsTap has the phone that shows the code wait until MadeBy or the owner lets it in.
	NeedsTap bool
	// IsRecovery marks one of the owner's recovery codes. Its secret is too long to be guessed, so
	// wrong tries do not kill it: it lies in a drawer for years, and anybody could use them up.
	IsRecovery bool
}

// Joining is what a phone brings to an invitation.
type Joining struct {
	Device     clock.Device
	SecretHash [32]byte
	Key        []byte // the phone's public key; nil where its browser keeps none
	Name       string // the person's, where the invitation leaves it open
	Practice   string // the practice's, from its owner
	// What an invitation that needs a tap shows to whoever taps.
	Phone   string // what kind of device the browser says it is
	Address string // where it comes from
}

// AddInvitation keeps an invitation. It returns ErrTaken if its handle is in use.
func (s *Store) AddInvitation(inv Invitation, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		if err := dropStaleKnocks(tx, nowMS); err != nil {
			return err
		}
		if taken, err := isHandle(tx, inv.Handle); err != nil {
			return err
		} else if taken {
			return ErrTaken
		}
		if err := insertInvitation(tx, inv, nowMS); err != nil {
			return err
		}
		e := Event{AtMS: nowMS, Person: inv.MadeBy.Person.ID, Act: "invite", Subject: inv.Handle,
			Result: "ok"}
		if inv.MadeBy.Device != 0 {
			e.Device = inv.MadeBy.Device.String()
		}
		return audit(tx, e)
	})
}

// isHandle reports whether an invitation has this handle.
func isHandle(tx *sql.Tx, handle string) (is bool, err error) {
	row := tx.QueryRow("SELECT EXISTS (SELECT 1 FROM invitations WHERE handle = ?)", handle)
	return is, row.Scan(&is)
}

func insertInvitation(tx *sql.Tx, inv Invitation, nowMS int64) error {
	var doc []byte
	if !inv.Doc.IsZero() {
		doc = packID(inv.Doc)
	}
	if inv.Person != "" {
		known, err := person(tx, inv.Person)
		if err != nil {
			return err
		}
		inv.Role, inv.Name = known.Role, known.Name
	}
	whom := sql.NullString{String: inv.Person, Valid: inv.Person != ""}
	madeBy := sql.NullString{String: inv.MadeBy.Person.ID, Valid: inv.MadeBy.Person.ID != ""}
	_, err := tx.Exec("INSERT INTO invitations (handle, secret_mac, role, name, doc, made_by,"+
		" created_ms, expires_ms, person, recovery, tap) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
		inv.Handle, inv.SecretMAC, inv.Role, inv.Name, doc, madeBy, nowMS, inv.ExpiresMS, whom,
		inv.IsRecovery, inv.NeedsTap)
	return err
}

// DropOwnerInvitations takes back every unused set-up invitation.
func (s *Store) DropOwnerInvitations() error {
	return s.write(func(tx *sql.Tx) error {
		_, err := tx.Exec("DELETE FROM invitations WHERE role = 'owner' AND used_ms IS NULL" +
			" AND person IS NULL")
		return err
	})
}

// Look returns the open invitation with this handle and secret and leaves it
// open. A wrong secret counts. Errors: ErrWrongCode, ErrLocked, ErrUsed, ErrExpired.
func (s *Store) Look(handle string, mac []byte, nowMS int64) (Invitation, error) {
	return s.try(handle, mac, nowMS, func(tx *sql.Tx, inv invitationRow) error {
		return inv.open(nowMS)
	})
}

// Join uses an invitation up: it makes the person, or for a client's further
// phone takes the person there is, and lets the phone in. A phone that asks again
// because the answer was lost gets in once more, with the new secret.
//
// Errors: those of Look, and ErrTaken if the device identity is in use. Of an invitation that needs
// a tap also Waits until somebody has answered, and ErrTurnedAway: the phone asks again as it is.
func (s *Store) Join(handle string, mac []byte, j Joining, nowMS int64) (Member, error) {
	var joined Member
	var waits error
	_, err := s.try(handle, mac, nowMS, func(tx *sql.Tx, inv invitationRow) (err error) {
		switch {
		case inv.isRetry(j, nowMS):
			joined, err = rejoin(tx, j)
			return err
		case inv.NeedsTap:
			err = knock(tx, inv, &j, nowMS)
		default:
			err = inv.open(nowMS)
		}
		if errors.As(err, new(Waits)) {
			waits = err // what was written of it stays
			return nil
		}
		if err != nil {
			return err
		}
		joined, err = join(tx, inv.Invitation, j, nowMS)
		return err
	})
	return joined, cmp.Or(err, waits)
}

// try runs f in one transaction with the invitation that handle and mac fit. A
// wrong secret is counted even though try then returns an error.
func (s *Store) try(handle string, mac []byte, nowMS int64,
	f func(*sql.Tx, invitationRow) error) (Invitation, error) {
	var inv invitationRow
	var refused error
	err := s.write(func(tx *sql.Tx) (err error) {
		inv, err = findInvitation(tx, handle)
		switch {
		case errors.Is(err, ErrNotFound):
			return ErrWrongCode
		case err != nil:
			return err
		case inv.tries >= MaxTries && !inv.IsRecovery:
			return ErrLocked
		case subtle.ConstantTimeCompare(inv.SecretMAC, mac) == 1:
			return f(tx, inv)
		}
		refused = ErrWrongCode
		if inv.IsRecovery {
			return nil
		}
		if inv.tries+1 == MaxTries {
			refused = ErrLocked
			err = audit(tx, Event{AtMS: nowMS, Act: "join", Subject: handle, Result: "locked"})
			if err != nil {
				return err
			}
		}
		_, err = tx.Exec("UPDATE invitations SET tries = tries + 1 WHERE handle = ?", handle)
		return err
	})
	if err != nil {
		return Invitation{}, err
	}
	return inv.Invitation, refused
}

type invitationRow struct {
	Invitation
	tries  int
	usedMS sql.NullInt64
	usedBy sql.NullInt64

	knockMS, knockDevice, answeredMS sql.NullInt64
	knockKey                         []byte
	knockName, answer                string
}

func findInvitation(tx *sql.Tx, handle string) (invitationRow, error) {
	var inv invitationRow
	var doc []byte
	row := tx.QueryRow("SELECT handle, secret_mac, role, name, doc, expires_ms, tries, used_ms,"+
		" used_by, coalesce(person, ''), recovery, tap, knock_ms, knock_device, knock_key,"+
		" coalesce(knock_name, ''), answered_ms, coalesce(answer, '') FROM invitations"+
		" WHERE handle = ?", handle)
	err := row.Scan(&inv.Handle, &inv.SecretMAC, &inv.Role, &inv.Name, &doc, &inv.ExpiresMS,
		&inv.tries, &inv.usedMS, &inv.usedBy, &inv.Person, &inv.IsRecovery, &inv.NeedsTap,
		&inv.knockMS, &inv.knockDevice, &inv.knockKey, &inv.knockName, &inv.answeredMS, &inv.answer)
	if err != nil {
		return invitationRow{}, translate(err)
	}
	if doc != nil {
		inv.Doc, err = unpackID(doc)
	}
	return inv, err
}

func (inv invitationRow) open(nowMS int64) error {
	switch {
	case inv.usedMS.Valid || inv.knockMS.Valid:
		return ErrUsed
	case nowMS >= inv.ExpiresMS:
		return ErrExpired
	}
	return nil
}

// isRetry reports whether a phone that was let in asks again; one that had to wait for a tap comes
// with the key that it knocked with.
func (inv invitationRow) isRetry(j Joining, nowMS int64) bool {
	return inv.usedBy.Valid && clock.Device(inv.usedBy.Int64) == j.Device &&
		nowMS < inv.usedMS.Int64+retryMS && (!inv.NeedsTap || bytes.Equal(inv.knockKey, j.Key))
}

func join(tx *sql.Tx, inv Invitation, j Joining, nowMS int64) (Member, error) {
	p, err := joiner(tx, inv, j, nowMS)
	if err != nil {
		return Member{}, err
	}
	if err := enter(tx, p.ID, j, nowMS); err != nil {
		return Member{}, err
	}
	_, err = tx.Exec("UPDATE invitations SET used_ms = ?, used_by = ? WHERE handle = ?",
		nowMS, int64(j.Device), inv.Handle)
	if err != nil {
		return Member{}, err
	}
	e := Event{AtMS: nowMS, Person: p.ID, Device: j.Device.String(), Act: "join",
		Subject: inv.Handle, Result: "ok"}
	if inv.IsRecovery {
		e.Act = "recover"
	}
	return Member{Device: j.Device, Person: p}, audit(tx, e)
}

// joiner returns the person an invitation is for, and makes them if need be.
func joiner(tx *sql.Tx, inv Invitation, j Joining, nowMS int64) (Person, error) {
	if inv.Person != "" {
		return person(tx, inv.Person)
	}
	p := Person{ID: RandomID(), Name: inv.Name, Role: inv.Role, Doc: inv.Doc}
	if p.Name == "" {
		p.Name = j.Name
	}
	switch inv.Role {
	case sessions.ClientOf:
		known, err := clientOf(tx, inv.Doc)
		if err == nil || !errors.Is(err, ErrNotFound) {
			return known, err
		}
	case sessions.Owner:
		has, err := hasOwner(tx)
		if err != nil {
			return Person{}, err
		}
		if has {
			return Person{}, ErrUsed
		}
		if err := namePractice(tx, j.Practice, nowMS); err != nil {
			return Person{}, err
		}
	}
	return p, addPerson(tx, p, nowMS)
}

// rejoin gives a phone whose answer was lost a new secret, as long as it has
// sent nothing and is not shut out.
func rejoin(tx *sql.Tx, j Joining) (Member, error) {
	result, err := tx.Exec("UPDATE devices SET secret_hash = ?, public_key = ?"+
		" WHERE id = ? AND have = 0 AND used = 0 AND revoked_ms IS NULL AND ended_ms IS NULL",
		j.SecretHash[:], nullable(j.Key), int64(j.Device))
	if err != nil {
		return Member{}, err
	}
	if n, err := result.RowsAffected(); err != nil || n == 0 {
		return Member{}, errors.Join(ErrUsed, err)
	}
	owner, err := personOf(tx, j.Device)
	if err != nil {
		return Member{}, err
	}
	p, err := person(tx, owner)
	return Member{Device: j.Device, Person: p}, err
}

// InvitationOf returns the person already known for a client document, or ErrNotFound.
func (s *Store) ClientOf(ctx context.Context, doc record.ID) (p Person, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		p, err = clientOf(tx, doc)
		return err
	})
	return p, err
}
