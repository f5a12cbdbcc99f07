package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"

	"evenhold/sync/clock"
)

// What a phone that shows one of its secrets can be told beside "not signed in".
var (
	// ErrEnded says that the secrets of a device were ended, because one that had been
	// used up came back: two hold a copy. It is let in again by a new invitation.
	ErrEnded = errors.New("this phone's sign-in was ended")
	// ErrRevoked says that a device was shut out for good.
	ErrRevoked = errors.New("this phone was shut out")
	// ErrWipe says that a device was shut out for good and is to empty itself.
	ErrWipe = errors.New("this phone was shut out and is to be emptied")
)

// lateMS is how long after a secret was seen first the one before it may still come
// in, from a request that the network held back, without being taken for a copy.
const lateMS = 60_000

// Credential is what the secrets of one device are checked with.
type Credential struct {
	Member
	Salt      []byte // 16 bytes
	Used      uint64 // number of the newest secret seen used; the first is 0
	PublicKey []byte // of the phone's own key; nil if it has not said one
}

// CredentialOf returns what the secrets of a device are checked with, ErrNotFound for
// one that was never let in. Of a device that is shut out it is returned all the
// same, with ErrEnded, ErrRevoked or ErrWipe.
func (s *Store) CredentialOf(ctx context.Context, device clock.Device) (c Credential, err error) {
	return s.credential(ctx, "id = ?", int64(device))
}

// CredentialByFirst is CredentialOf for the device whose first secret has this hash.
func (s *Store) CredentialByFirst(ctx context.Context, hash [32]byte) (Credential, error) {
	return s.credential(ctx, "secret_hash = ?", hash[:])
}

func (s *Store) credential(ctx context.Context, where string, arg any) (c Credential, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		c, err = findCredential(tx, where, arg)
		return err
	})
	return c, err
}

func findCredential(tx *sql.Tx, where string, arg any) (Credential, error) {
	var c Credential
	var id int64
	var owner string
	var revoked, ended sql.NullInt64
	var wipe bool
	row := tx.QueryRow("SELECT id, person, salt, used, public_key, revoked_ms, ended_ms, wipe"+
		" FROM devices WHERE "+where, arg)
	err := row.Scan(&id, &owner, &c.Salt, &c.Used, &c.PublicKey, &revoked, &ended, &wipe)
	if err != nil {
		return Credential{}, translate(err)
	}
	c.Device = clock.Device(id)
	if c.Person, err = person(tx, owner); err != nil {
		return Credential{}, err
	}
	switch {
	case revoked.Valid && wipe:
		return c, ErrWipe
	case revoked.Valid:
		return c, ErrRevoked
	case ended.Valid:
		return c, ErrEnded
	}
	return c, nil
}

// Advance takes note that the secret with this number of a device was used, and of the
// phone's public key if it has said none before. A secret whose successor was seen
// ends them all and leaves a line in the audit trail: ErrEnded. A request that was
// held back on its way is ErrNotFound, and nothing else happens.
func (s *Store) Advance(device clock.Device, number uint64, key []byte, nowMS int64) error {
	var refused error
	err := s.write(func(tx *sql.Tx) error {
		c, err := findCredential(tx, "id = ?", int64(device))
		if err != nil {
			return err
		}
		if number < c.Used {
			refused, err = replayed(tx, c, number, nowMS)
			return err
		}
		_, err = tx.Exec("UPDATE devices SET used_ms = CASE WHEN used < ?1 THEN ?2 ELSE used_ms END,"+
			" used = ?1, public_key = coalesce(public_key, ?3), contact_ms = ?2 WHERE id = ?4",
			int64(number), nowMS, nullable(key), int64(device))
		return err
	})
	return errors.Join(err, refused)
}

// nullable keeps no bytes as null.
func nullable(b []byte) any {
	if len(b) == 0 {
		return nil
	}
	return b
}

func replayed(tx *sql.Tx, c Credential, number uint64, nowMS int64) (refused, err error) {
	var usedMS int64
	row := tx.QueryRow("SELECT used_ms FROM devices WHERE id = ?", int64(c.Device))
	if err := row.Scan(&usedMS); err != nil {
		return nil, err
	}
	if number+1 == c.Used && nowMS-usedMS < lateMS {
		return ErrNotFound, nil
	}
	_, err = tx.Exec("UPDATE devices SET ended_ms = ? WHERE id = ?", nowMS, int64(c.Device))
	if err != nil {
		return nil, err
	}
	return ErrEnded, audit(tx, Event{AtMS: nowMS, Person: c.Person.ID, Device: c.Device.String(),
		Act: "signin", Subject: c.Device.String(), Result: "replayed"})
}

// Told takes note that a device that was shut out has been told to empty itself.
func (s *Store) Told(device clock.Device, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		result, err := tx.Exec("UPDATE devices SET told_ms = ?, contact_ms = ?"+
			" WHERE id = ? AND wipe = 1 AND told_ms IS NULL", nowMS, nowMS, int64(device))
		if err != nil {
			return err
		}
		if n, err := result.RowsAffected(); err != nil || n == 0 {
			return err
		}
		return audit(tx, Event{AtMS: nowMS, Device: device.String(), Act: "wipe",
			Subject: device.String(), Result: "told"})
	})
}

// enter lets a device in for owner: a new one, or one that owner has had before.
func enter(tx *sql.Tx, owner string, j Joining, nowMS int64) error {
	err := addDevice(tx, owner, j, nowMS)
	if errors.Is(err, ErrTaken) {
		err = reenter(tx, owner, j, nowMS)
	}
	return err
}

// reenter lets a device that owner has had before in again, with new secrets: its
// work goes on where it was. A device that was shut out, or is another person's, is ErrTaken.
func reenter(tx *sql.Tx, owner string, j Joining, nowMS int64) error {
	result, err := tx.Exec("UPDATE devices SET secret_hash = ?, salt = ?, used = 0, used_ms = 0,"+
		" public_key = ?, ended_ms = NULL, contact_ms = ?"+
		" WHERE id = ? AND person = ? AND revoked_ms IS NULL",
		j.SecretHash[:], newSalt(), nullable(j.Key), nowMS, int64(j.Device), owner)
	if err != nil {
		return err
	}
	if n, err := result.RowsAffected(); err != nil || n == 0 {
		return errors.Join(ErrTaken, err)
	}
	return nil
}

func newSalt() []byte {
	salt := make([]byte, 16)
	rand.Read(salt) // never fails: the program ends if the system has no randomness
	return salt
}
