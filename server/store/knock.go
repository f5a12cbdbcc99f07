package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// knockMS is how long a phone that showed a right code may wait for the tap, and how long after the
// tap it may come in.
const knockMS = 10 * 60 * 1000

// Waits says that a phone showed a right code and has to wait for a tap on another one.
type Waits struct {
	Handle  string
	UntilMS int64
	IsNew   bool // it has just begun to wait
}

func (w Waits) Error() string { return fmt.Sprintf("waits to be let in until %d ms", w.UntilMS) }

// Answers to a knock, as the file and the audit trail have them.
const (
	letIn    = "let_in"
	turnAway = "turn_away"
)

// Knock is a phone that showed a right code and waits to be let in.
type Knock struct {
	Handle  string // of its invitation, which has no other knock
	AtMS    int64
	Phone   string // what kind of device its browser says it is
	Address string
	Name    string // of the person that it would be let in for
	Role    sessions.Role
	Known   bool // the person has had a phone here before
	Doc     record.ID
}

// knock has a phone that showed the code of an invitation wait, or says what was answered. Without
// an error the phone may come in now, as it was when it knocked.
func knock(tx *sql.Tx, inv invitationRow, j *Joining, nowMS int64) error {
	if !inv.knockMS.Valid {
		if err := inv.open(nowMS); err != nil {
			return err
		}
		if err := checkIdentity(tx, inv.Invitation, j.Device); err != nil {
			return err
		}
		return firstKnock(tx, inv, *j, nowMS)
	}
	isSame := inv.knockDevice.Int64 == int64(j.Device) && bytes.Equal(inv.knockKey, j.Key)
	switch {
	case inv.usedMS.Valid || !isSame:
		return ErrUsed
	case inv.answer == turnAway:
		return ErrTurnedAway
	case inv.answer == letIn && nowMS < inv.answeredMS.Int64+knockMS:
		j.Name = inv.knockName
		return nil
	case inv.answer == "" && nowMS < inv.knockMS.Int64+knockMS:
		return Waits{Handle: inv.Handle, UntilMS: inv.knockMS.Int64 + knockMS}
	}
	return ErrExpired
}

// checkIdentity returns ErrTaken for a phone whose identity is not the guest's own, or shut out.
func checkIdentity(tx *sql.Tx, inv Invitation, device clock.Device) error {
	var whose string
	err := translate(tx.QueryRow("SELECT iif(revoked_ms IS NULL, person, '') FROM devices"+
		" WHERE id = ?", int64(device)).Scan(&whose))
	if errors.Is(err, ErrNotFound) {
		return nil
	}
	guest := inv.Person
	if err == nil && guest == "" && !inv.Doc.IsZero() {
		var p Person
		p, err = clientOf(tx, inv.Doc)
		guest = p.ID
	}
	if err == nil && whose != guest || errors.Is(err, ErrNotFound) {
		return ErrTaken
	}
	return err
}

// firstKnock keeps the phone that showed the code first; the invitation is its own from then on.
func firstKnock(tx *sql.Tx, inv invitationRow, j Joining, nowMS int64) error {
	_, err := tx.Exec("UPDATE invitations SET knock_ms = ?, knock_device = ?, knock_key = ?,"+
		" knock_name = ?, knock_phone = ?, knock_address = ? WHERE handle = ?",
		nowMS, int64(j.Device), nullable(j.Key), j.Name, j.Phone, j.Address, inv.Handle)
	if err != nil {
		return err
	}
	err = audit(tx, Event{AtMS: nowMS, Device: j.Device.String(), Act: "knock",
		Subject: inv.Handle, Result: "ok"})
	if err != nil {
		return err
	}
	return Waits{Handle: inv.Handle, UntilMS: nowMS + knockMS, IsNew: true}
}

// dropStaleKnocks takes the kind and address of phones away that nobody answered.
func dropStaleKnocks(tx *sql.Tx, nowMS int64) error {
	_, err := tx.Exec("UPDATE invitations SET knock_phone = NULL, knock_address = NULL"+
		" WHERE knock_ms <= ? AND answered_ms IS NULL AND knock_address IS NOT NULL", nowMS-knockMS)
	return err
}

// Knocks lists the phones that wait for a tap by this person, the longest wait first: those that
// they invited, all for the owner. Nobody lets a phone into a record that is closed to them.
func (s *Store) Knocks(ctx context.Context, by Person, nowMS int64) (all []Knock, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		all, err = knocks(tx, by, nowMS)
		return err
	})
	return all, err
}

func knocks(tx *sql.Tx, by Person, nowMS int64) ([]Knock, error) {
	rows, err := tx.Query("SELECT handle, knock_ms, knock_phone, knock_address,"+
		" coalesce(nullif(name, ''), knock_name), role, person IS NOT NULL, doc FROM invitations"+
		" WHERE knock_ms IS NOT NULL AND answered_ms IS NULL AND used_ms IS NULL AND knock_ms > ?"+
		" AND (made_by = ? OR ?) ORDER BY knock_ms, handle",
		nowMS-knockMS, by.ID, by.Role == sessions.Owner)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []Knock
	for rows.Next() {
		var k Knock
		var doc []byte
		err := rows.Scan(&k.Handle, &k.AtMS, &k.Phone, &k.Address, &k.Name, &k.Role, &k.Known, &doc)
		if err != nil {
			return nil, err
		}
		if doc != nil {
			if k.Doc, err = unpackID(doc); err != nil {
				return nil, err
			}
		}
		all = append(all, k)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	return readable(tx, by, all)
}

// readable leaves out who would be let into a record that is closed to this person.
func readable(tx *sql.Tx, by Person, all []Knock) (kept []Knock, err error) {
	for _, k := range all {
		may := k.Doc.IsZero()
		if !may {
			if may, err = canRead(tx, by.ID, k.Doc); err != nil {
				return nil, err
			}
		}
		if may {
			kept = append(kept, k)
		}
	}
	return kept, nil
}

// AnswerKnock lets the phone in that waits with this invitation, or turns it away; the first answer
// counts. It returns ErrNotFound for a knock that this person does not see, ErrAnswered if somebody
// was quicker, and ErrExpired if the phone has stopped waiting.
func (s *Store) AnswerKnock(by Member, handle string, let bool, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		if err := mayAnswer(tx, by.Person, handle, nowMS); err != nil {
			return err
		}
		answer := turnAway
		if let {
			answer = letIn
		}
		_, err := tx.Exec("UPDATE invitations SET answer = ?, answered_ms = ?, knock_phone = NULL,"+
			" knock_address = NULL WHERE handle = ?", answer, nowMS, handle)
		if err != nil {
			return err
		}
		return audit(tx, Event{AtMS: nowMS, Person: by.Person.ID, Device: by.Device.String(),
			Act: answer, Subject: handle, Result: "ok"})
	})
}

func mayAnswer(tx *sql.Tx, by Person, handle string, nowMS int64) error {
	waiting, err := knocks(tx, by, nowMS)
	if err != nil {
		return err
	}
	for _, k := range waiting {
		if k.Handle == handle {
			return nil
		}
	}
	var madeBy string
	var answeredMS sql.NullInt64
	err = tx.QueryRow("SELECT coalesce(made_by, ''), answered_ms FROM invitations"+
		" WHERE handle = ? AND knock_ms IS NOT NULL", handle).Scan(&madeBy, &answeredMS)
	switch {
	case errors.Is(err, sql.ErrNoRows) || by.Role != sessions.Owner && madeBy != by.ID:
		return ErrNotFound
	case err != nil:
		return err
	case answeredMS.Valid:
		return ErrAnswered
	}
	return ErrExpired
}

// HostsOf returns the ids of who may answer a phone that waits with this invitation.
func (s *Store) HostsOf(ctx context.Context, handle string) (hosts map[string]bool, err error) {
	hosts = map[string]bool{}
	err = s.read(ctx, func(tx *sql.Tx) error {
		return addIDs(tx, hosts, "SELECT made_by FROM invitations WHERE handle = ?"+
			" AND made_by IS NOT NULL UNION SELECT id FROM people WHERE role = 'owner'", handle)
	})
	return hosts, err
}
