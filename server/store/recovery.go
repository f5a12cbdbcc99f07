package store

import (
	"database/sql"

	"evenhold/internal/sessions"
)

// noEndMS is the end of the year 9999, the last that times are written with (RFC 3339, 2002).
const noEndMS = 253_402_300_799_999

// RecoveryCode is what is kept of one recovery code.
type RecoveryCode struct {
	Handle    string
	SecretMAC []byte
}

// SetRecovery keeps the owner's recovery codes in place of all earlier ones that were not used.
// They have no end. It returns ErrNotFound before there is an owner, and ErrTaken if a handle is in
// use; then nothing has changed.
func (s *Store) SetRecovery(codes []RecoveryCode, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		var owner string
		err := tx.QueryRow("SELECT id FROM people WHERE role = 'owner'").Scan(&owner)
		if err != nil {
			return translate(err)
		}
		_, err = tx.Exec("DELETE FROM invitations WHERE recovery = 1 AND used_ms IS NULL")
		if err != nil {
			return err
		}
		for _, c := range codes {
			if taken, err := isHandle(tx, c.Handle); err != nil {
				return err
			} else if taken {
				return ErrTaken
			}
			inv := Invitation{Handle: c.Handle, SecretMAC: c.SecretMAC, Role: sessions.Owner,
				Person: owner, ExpiresMS: noEndMS, IsRecovery: true}
			if err := insertInvitation(tx, inv, nowMS); err != nil {
				return err
			}
		}
		return audit(tx, Event{AtMS: nowMS, Act: "recovery codes", Subject: owner, Result: "ok"})
	})
}
