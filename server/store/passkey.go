package store

import (
	"context"
	"database/sql"

	"evenhold/sync/clock"
)

// Passkey is what is kept of a passkey with which a person comes back.
type Passkey struct {
	ID     []byte
	Record []byte       // what checks its signature, in the form of who made it
	Device clock.Device // the phone on which it was made; the passkey ends with it
}

// SetPasskey keeps a passkey that was made on m's phone, in place of an earlier one of that phone.
// It returns ErrTaken if another phone has made it.
func (s *Store) SetPasskey(m Member, p Passkey, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		var taken bool
		row := tx.QueryRow("SELECT EXISTS (SELECT 1 FROM devices WHERE passkey_id = ? AND id <> ?)",
			p.ID, int64(m.Device))
		if err := row.Scan(&taken); err != nil {
			return err
		}
		if taken {
			return ErrTaken
		}
		_, err := tx.Exec("UPDATE devices SET passkey_id = ?, passkey = ?, passkey_ms = ?"+
			" WHERE id = ?", p.ID, p.Record, nowMS, int64(m.Device))
		if err != nil {
			return err
		}
		return audit(tx, Event{AtMS: nowMS, Person: m.Person.ID, Device: m.Device.String(),
			Act: "passkey", Subject: m.Device.String(), Result: "made"})
	})
}

// PasskeysOf returns the passkeys of a person that are good: those of phones that were shut out
// are not.
func (s *Store) PasskeysOf(ctx context.Context, id string) (all []Passkey, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.Query("SELECT id, passkey_id, passkey FROM devices WHERE person = ?"+
			" AND passkey_id IS NOT NULL AND revoked_ms IS NULL ORDER BY id", id)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var p Passkey
			var device int64
			if err := rows.Scan(&device, &p.ID, &p.Record); err != nil {
				return err
			}
			p.Device = clock.Device(device)
			all = append(all, p)
		}
		return rows.Err()
	})
	return all, err
}

// ComeBack lets the person of a passkey, whose signature is found to be right, in on the phone of
// j, and keeps what the use has changed of it. A phone that they had before goes on under its
// own identity.
//
// Errors: ErrNotFound if the passkey has ended meanwhile, ErrTaken if the phone's identity is
// another's or was shut out.
func (s *Store) ComeBack(p Passkey, j Joining, nowMS int64) (m Member, err error) {
	err = s.write(func(tx *sql.Tx) error {
		var owner string
		row := tx.QueryRow("UPDATE devices SET passkey = ? WHERE id = ? AND passkey_id = ?"+
			" AND revoked_ms IS NULL RETURNING person", p.Record, int64(p.Device), p.ID)
		if err := row.Scan(&owner); err != nil {
			return translate(err)
		}
		m = Member{Device: j.Device}
		if m.Person, err = person(tx, owner); err != nil {
			return err
		}
		if err := enter(tx, owner, j, nowMS); err != nil {
			return err
		}
		return audit(tx, Event{AtMS: nowMS, Person: owner, Device: j.Device.String(),
			Act: "come back", Subject: p.Device.String(), Result: "ok"})
	})
	return m, err
}
