package store

import (
	"context"
	"database/sql"
	"errors"

	"evenhold/sync/clock"
)

// zeroChain is the chain value before a device's first operation.
var zeroChain [32]byte

// Member is a phone that was let in and the person it belongs to.
type Member struct {
	Device clock.Device
	Person Person
}

// MemberByDevice returns the member with this device, ErrNotFound if it is
// unknown or shut out.
func (s *Store) MemberByDevice(ctx context.Context, device clock.Device) (m Member, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		var owner string
		row := tx.QueryRow("SELECT person FROM devices WHERE id = ? AND revoked_ms IS NULL"+
			" AND ended_ms IS NULL", int64(device))
		if err := row.Scan(&owner); err != nil {
			return err
		}
		m.Device = device
		m.Person, err = person(tx, owner)
		return err
	})
	return m, err
}

// Renew gives the person of member from a further device identity: the way on
// for a phone whose identity is used by a copy of it. It returns ErrTaken if the
// identity is in use.
func (s *Store) Renew(from Member, j Joining, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		if err := addDevice(tx, from.Person.ID, j, nowMS); err != nil {
			return err
		}
		return audit(tx, Event{AtMS: nowMS, Person: from.Person.ID, Device: from.Device.String(),
			Act: "renew", Subject: j.Device.String(), Result: "ok"})
	})
}

// Revoke shuts a device out at once and for good.
func (s *Store) Revoke(m Member, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		_, err := tx.Exec("UPDATE devices SET revoked_ms = ? WHERE id = ? AND revoked_ms IS NULL",
			nowMS, int64(m.Device))
		if err != nil {
			return err
		}
		return audit(tx, Event{AtMS: nowMS, Person: m.Person.ID, Device: m.Device.String(),
			Act: "revoke", Subject: m.Device.String(), Result: "ok"})
	})
}

func addDevice(tx *sql.Tx, owner string, j Joining, nowMS int64) error {
	if j.Device == 0 {
		return ErrTaken
	}
	own, err := meta(tx, metaDevice)
	if err != nil {
		return err
	}
	_, err = personOf(tx, j.Device)
	if err == nil || own == j.Device.String() {
		return ErrTaken
	}
	if !errors.Is(err, ErrNotFound) {
		return err
	}
	_, err = tx.Exec("INSERT INTO devices (id, person, secret_hash, created_ms, chain, salt,"+
		" public_key, contact_ms) VALUES (?, ?, ?, ?, ?, ?, ?, ?)", int64(j.Device), owner,
		j.SecretHash[:], nowMS, zeroChain[:], newSalt(), nullable(j.Key), nowMS)
	return err
}

// personOf returns the id of the person a device belongs or belonged to.
func personOf(tx *sql.Tx, device clock.Device) (string, error) {
	var id string
	err := tx.QueryRow("SELECT person FROM devices WHERE id = ?", int64(device)).Scan(&id)
	return id, translate(err)
}
