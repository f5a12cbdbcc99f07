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

// MemberBySecret returns the member whose device secret has this hash.
// A revoked device is ErrNotFound, like one that never was.
func (s *Store) MemberBySecret(ctx context.Context, hash [32]byte) (m Member, err error) {
	return s.member(ctx, "secret_hash = ?", hash[:])
}

// MemberByDevice returns the member with this device, ErrNotFound if it is
// unknown or revoked.
func (s *Store) MemberByDevice(ctx context.Context, device clock.Device) (Member, error) {
	return s.member(ctx, "id = ?", int64(device))
}

func (s *Store) member(ctx context.Context, where string, arg any) (m Member, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		var id int64
		var owner string
		row := tx.QueryRow("SELECT id, person FROM devices WHERE revoked_ms IS NULL AND "+where, arg)
		if err := row.Scan(&id, &owner); err != nil {
			return err
		}
		m.Device = clock.Device(id)
		m.Person, err = person(tx, owner)
		return err
	})
	return m, err
}

// Renew gives the person of member from a further device identity: the way on
// for a phone whose identity is used by a copy of it. It returns ErrTaken if the
// identity is in use.
func (s *Store) Renew(from Member, device clock.Device, hash [32]byte, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		if err := addDevice(tx, device, from.Person.ID, hash, nowMS); err != nil {
			return err
		}
		return audit(tx, Event{AtMS: nowMS, Person: from.Person.ID, Device: from.Device.String(),
			Act: "renew", Subject: device.String(), Result: "ok"})
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

func addDevice(tx *sql.Tx, device clock.Device, owner string, hash [32]byte, nowMS int64) error {
	if device == 0 {
		return ErrTaken
	}
	own, err := meta(tx, metaDevice)
	if err != nil {
		return err
	}
	_, err = personOf(tx, device)
	if err == nil || own == device.String() {
		return ErrTaken
	}
	if !errors.Is(err, ErrNotFound) {
		return err
	}
	_, err = tx.Exec("INSERT INTO devices (id, person, secret_hash, created_ms, chain)"+
		" VALUES (?, ?, ?, ?, ?)", int64(device), owner, hash[:], nowMS, zeroChain[:])
	return err
}

// personOf returns the id of the person a device belongs or belonged to.
func personOf(tx *sql.Tx, device clock.Device) (string, error) {
	var id string
	err := tx.QueryRow("SELECT person FROM devices WHERE id = ?", int64(device)).Scan(&id)
	return id, translate(err)
}
