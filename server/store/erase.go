package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// ErrPractice says that the practice's own document is not a person's record.
var ErrPractice = errors.New("this is the practice's own record, not a person's")

// Erase removes a client record for good: its operations, what is listed of it, the name of
// the person it is about and the invitations made out to them. What stays is that a document
// of that identifier was erased, so that no phone and no backup brings it back. Phones that
// hold it are told at their next contact. It reports whether there was anything to erase.
//
// The bytes are gone from the file when Scrub has returned.
func (s *Store) Erase(doc record.ID, nowMS int64) (had bool, err error) {
	err = s.write(func(tx *sql.Tx) error {
		if had, err = erase(tx, doc, nowMS); err != nil {
			return err
		}
		e := Event{AtMS: nowMS, Act: "erase", Subject: doc.String(), Result: "ok"}
		if !had {
			e.Result = "not here"
		}
		return audit(tx, e)
	})
	return had, err
}

// EraseFromCopy is Erase for a copy of the file, whose audit trail stays the one it was.
func (s *Store) EraseFromCopy(doc record.ID, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		_, err := erase(tx, doc, nowMS)
		return err
	})
}

func erase(tx *sql.Tx, doc record.ID, nowMS int64) (had bool, err error) {
	own, err := practiceDoc(tx)
	if err != nil {
		return false, err
	}
	if doc == own {
		return false, ErrPractice
	}
	isErased, err := isErased(tx, doc)
	if err != nil {
		return false, err
	}
	d, err := findDoc(tx, doc)
	had = err == nil
	if err != nil && !errors.Is(err, ErrNotFound) {
		return false, err
	}
	for _, statement := range []string{
		"DELETE FROM ops WHERE doc = ?", "DELETE FROM records WHERE doc = ?",
		"DELETE FROM docs WHERE num = ?",
	} {
		if _, err := tx.Exec(statement, d.num); had && err != nil {
			return false, err
		}
	}
	for _, statement := range []string{
		"UPDATE people SET name = '' WHERE doc = ?", "DELETE FROM invitations WHERE doc = ?",
		"UPDATE devices SET passkey_id = NULL, passkey = NULL, passkey_ms = NULL WHERE person IN" +
			" (SELECT id FROM people WHERE doc = ?)",
	} {
		if _, err := tx.Exec(statement, packID(doc)); err != nil {
			return false, err
		}
	}
	if isErased {
		return had, nil
	}
	// A hash of one short entry could be guessed at. So the chains are followed from here on.
	_, err = tx.Exec("UPDATE devices SET base = have, base_chain = chain")
	if err != nil {
		return false, err
	}
	if _, err := tx.Exec("UPDATE refusals SET hash = NULL"); err != nil {
		return false, err
	}
	change, err := nextChange(tx)
	if err != nil {
		return false, err
	}
	_, err = tx.Exec("INSERT INTO erased (doc, changed, at_ms) VALUES (?, ?, ?)", packID(doc),
		int64(change), nowMS)
	if err != nil {
		return false, err
	}
	return had, spread(tx, doc)
}

// ForgetStaff takes the name of a coach or an assistant out of the list of people and out of every
// invitation made out to them, shuts their phones out and ends what was shared with them by name.
// The owner cannot be forgotten.
//
// What they wrote stays in the records it was written into: it is part of the clients' health
// records. Their name stays there too, in the one author record of each: a phone makes it, its
// chain and everybody's digests are over its bytes, and the server makes no operation in another's
// name.
func (s *Store) ForgetStaff(id string, nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		p, err := person(tx, id)
		if err != nil {
			return err
		}
		if p.Role != sessions.Coach && p.Role != sessions.Assistant {
			return fmt.Errorf("%w: only a coach or an assistant can be forgotten so", ErrPractice)
		}
		for _, statement := range []string{
			"UPDATE people SET name = '' WHERE id = ?1",
			"UPDATE devices SET revoked_ms = ?2 WHERE person = ?1 AND revoked_ms IS NULL",
			"UPDATE devices SET passkey_id = NULL, passkey = NULL, passkey_ms = NULL WHERE person = ?1",
			"DELETE FROM grants WHERE person = ?1",
			"DELETE FROM invitations WHERE person = ?1 AND used_ms IS NULL",
			// The last are those that nobody used; whoever still does says their name.
			"UPDATE invitations SET name = '', knock_name = NULL WHERE person = ?1 OR used_by IN" +
				" (SELECT id FROM devices WHERE person = ?1)" +
				" OR name = ?3 AND used_ms IS NULL AND role IN ('coach', 'assistant')",
		} {
			if _, err := tx.Exec(statement, id, nowMS, p.Name); err != nil {
				return err
			}
		}
		return audit(tx, Event{AtMS: nowMS, Act: "forget", Subject: id, Result: "ok"})
	})
}

// Scrub leaves no byte of what was removed in the file and its log: pages are overwritten when
// they are freed, the file is written anew, and the log is cut to nothing. It returns ErrBusy
// if readers kept the log open; then it is to be called again.
func (s *Store) Scrub() error {
	if _, err := s.writer.Exec("VACUUM"); err != nil {
		return fmt.Errorf("scrub: %w", s.noteFailure(translate(err)))
	}
	return s.cutLog()
}

// Erased returns the documents that were erased, sorted.
func (s *Store) Erased(ctx context.Context) (docs []record.ID, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		docs, err = ids(tx, "SELECT doc FROM erased ORDER BY doc")
		return err
	})
	return docs, err
}

// isErased reports whether a document was erased.
func isErased(tx *sql.Tx, doc record.ID) (is bool, err error) {
	row := tx.QueryRow("SELECT EXISTS (SELECT 1 FROM erased WHERE doc = ?)", packID(doc))
	return is, translate(row.Scan(&is))
}

// ids runs a query of one column of packed identifiers.
func ids(tx *sql.Tx, query string, args ...any) (all []record.ID, err error) {
	rows, err := tx.Query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var packed []byte
		if err := rows.Scan(&packed); err != nil {
			return nil, err
		}
		id, err := unpackID(packed)
		if err != nil {
			return nil, err
		}
		all = append(all, id)
	}
	return all, rows.Err()
}
