package store

import (
	"context"
	"database/sql"
	"slices"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Phone is what the practice is told of one device.
type Phone struct {
	Device    clock.Device
	JoinedMS  int64
	ContactMS int64  // when it last asked for a token
	State     string // "in", "ended" by a replay, "out" for good, "wipe": out and to be emptied
	ToldMS    int64  // when it was told to empty itself; 0 if it was not
	PasskeyMS int64  // when a passkey was made on it; 0 if none was
}

// Listed is a person with their phones, the oldest first.
type Listed struct {
	Person
	Phones []Phone
}

// IsIn reports whether a person has a phone that is let in.
func (l Listed) IsIn() bool {
	return slices.ContainsFunc(l.Phones, func(p Phone) bool { return p.State == "in" })
}

// Staff returns everybody but the clients, by name.
func (s *Store) Staff(ctx context.Context) ([]Listed, error) {
	return s.listed(ctx, "role <> 'client'")
}

// Clients returns the client of a document, or nobody if none was invited.
func (s *Store) Clients(ctx context.Context, doc record.ID) ([]Listed, error) {
	return s.listed(ctx, "doc = ?", packID(doc))
}

// PersonByID returns one person.
func (s *Store) PersonByID(ctx context.Context, id string) ([]Listed, error) {
	return s.listed(ctx, "id = ?", id)
}

func (s *Store) listed(ctx context.Context, where string, args ...any) (all []Listed, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.Query("SELECT id, name, role, doc FROM people WHERE "+where+
			" ORDER BY name, id", args...)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			p, err := scanPerson(rows)
			if err != nil {
				return err
			}
			all = append(all, Listed{Person: p})
		}
		if err := rows.Err(); err != nil {
			return err
		}
		for i := range all {
			if all[i].Phones, err = phones(tx, all[i].ID); err != nil {
				return err
			}
		}
		return nil
	})
	return all, err
}

func phones(tx *sql.Tx, owner string) ([]Phone, error) {
	rows, err := tx.Query("SELECT id, created_ms, contact_ms, coalesce(told_ms, 0),"+
		" coalesce(passkey_ms, 0), CASE"+
		" WHEN revoked_ms IS NOT NULL AND wipe = 1 THEN 'wipe' WHEN revoked_ms IS NOT NULL THEN 'out'"+
		" WHEN ended_ms IS NOT NULL THEN 'ended' ELSE 'in' END"+
		" FROM devices WHERE person = ? ORDER BY created_ms, id", owner)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []Phone
	for rows.Next() {
		var p Phone
		var id int64
		err := rows.Scan(&id, &p.JoinedMS, &p.ContactMS, &p.ToldMS, &p.PasskeyMS, &p.State)
		if err != nil {
			return nil, err
		}
		p.Device = clock.Device(id)
		all = append(all, p)
	}
	return all, rows.Err()
}

// OwnerOf returns the person a device belongs to, ErrNotFound for one never let in.
func (s *Store) OwnerOf(ctx context.Context, device clock.Device) (p Person, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		id, err := personOf(tx, device)
		if err != nil {
			return err
		}
		p, err = person(tx, id)
		return err
	})
	return p, err
}

// ShutOut revokes a device for by, for good; with wipe it is told to empty itself at its next
// contact. A device that is out already may still be told so.
func (s *Store) ShutOut(by Member, device clock.Device, wipe bool, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		_, err := tx.Exec("UPDATE devices SET revoked_ms = coalesce(revoked_ms, ?),"+
			" wipe = max(wipe, ?) WHERE id = ?", nowMS, wipe, int64(device))
		if err != nil {
			return err
		}
		act := "revoke"
		if wipe {
			act = "lost"
		}
		return audit(tx, Event{AtMS: nowMS, Person: by.Person.ID, Device: by.Device.String(),
			Act: act, Subject: device.String(), Result: "ok"})
	})
}

// TakeOut shuts a coach or an assistant out of the practice: all of their phones, the invitations
// that are open for them or by them, and what was shared with them by name. With wipe the phones
// are told to empty themselves. It returns the phones, and ErrNotFound for anybody else.
func (s *Store) TakeOut(by Member, id string, wipe bool, nowMS int64) (out []Phone, err error) {
	err = s.write(func(tx *sql.Tx) error {
		p, err := person(tx, id)
		if err == nil && p.Role != sessions.Coach && p.Role != sessions.Assistant {
			err = ErrNotFound
		}
		if err != nil {
			return err
		}
		for _, statement := range []string{
			"UPDATE devices SET revoked_ms = coalesce(revoked_ms, ?2), wipe = max(wipe, ?3)" +
				" WHERE person = ?1",
			"DELETE FROM invitations WHERE (person = ?1 OR made_by = ?1) AND used_ms IS NULL",
			"DELETE FROM grants WHERE person = ?1",
		} {
			if _, err := tx.Exec(statement, id, nowMS, wipe); err != nil {
				return err
			}
		}
		if out, err = phones(tx, id); err != nil {
			return err
		}
		result := "ok"
		if wipe {
			result = "wipe"
		}
		return audit(tx, Event{AtMS: nowMS, Person: by.Person.ID, Device: by.Device.String(),
			Act: "take out", Subject: id, Result: result})
	})
	return out, err
}

// SetRole makes a coach an assistant or the other way round. It returns ErrNotFound for
// anybody else.
func (s *Store) SetRole(by Member, id string, role sessions.Role, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		result, err := tx.Exec("UPDATE people SET role = ? WHERE id = ?"+
			" AND role IN ('coach', 'assistant')", role, id)
		if err != nil {
			return err
		}
		if n, err := result.RowsAffected(); err != nil {
			return err
		} else if n == 0 {
			return ErrNotFound
		}
		return audit(tx, Event{AtMS: nowMS, Person: by.Person.ID, Device: by.Device.String(),
			Act: "role", Subject: id, Result: string(role)})
	})
}
