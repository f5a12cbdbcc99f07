package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// mayRead is the one rule of who reads a document, as SQL over a person p and the document's
// identifier, of which %s names the expression.
const mayRead = "(p.doc IS %[1]s OR p.doc IS NULL AND (p.role = 'owner'" +
	" OR NOT EXISTS (SELECT 1 FROM closed c WHERE c.doc = %[1]s)" +
	" OR EXISTS (SELECT 1 FROM grants g WHERE g.doc = %[1]s AND g.person = p.id)))"

var (
	mayReadArg  = fmt.Sprintf(mayRead, "?1")
	mayReadNews = fmt.Sprintf(mayRead, "n.doc")
	mayReadDocs = fmt.Sprintf(mayRead, "d.id")
)

// canRead reports whether a person may see a document. Of one that does not exist it says what
// it would say if it did and nothing had been set.
func canRead(tx *sql.Tx, person string, doc record.ID) (may bool, err error) {
	err = tx.QueryRow("SELECT EXISTS (SELECT 1 FROM people p WHERE p.id = ?2 AND "+mayReadArg+")",
		packID(doc), person).Scan(&may)
	return may, err
}

// CanRead is canRead for those who ask about a document by name.
func (s *Store) CanRead(ctx context.Context, person string, doc record.ID) (may bool, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		may, err = canRead(tx, person, doc)
		return err
	})
	return may, err
}

// spread gives a document the next number in the news of each of the staff who read it.
func spread(tx *sql.Tx, doc record.ID) error {
	_, err := tx.Exec("INSERT INTO news (person, doc, n) SELECT p.id, ?1,"+
		" 1 + coalesce((SELECT max(n) FROM news WHERE person = p.id), 0)"+
		" FROM people p WHERE p.doc IS NULL AND "+mayReadArg+
		" ON CONFLICT (person, doc) DO UPDATE SET n = excluded.n", packID(doc))
	return err
}

// catchUp makes all that somebody who is new may read news to them.
func catchUp(tx *sql.Tx, person string) error {
	_, err := tx.Exec("INSERT INTO news (person, doc, n)"+
		" SELECT p.id, d.id, row_number() OVER (ORDER BY d.changed)"+
		" FROM people p, docs d WHERE p.id = ?1 AND p.doc IS NULL AND "+mayReadDocs, person)
	return err
}

// Sharing is who of the staff sees a client record, beside the owner.
type Sharing struct {
	IsClosed bool     // only those named see it; else all staff do
	People   []string // ids of coaches and assistants, of a closed record
}

// Sharing returns who sees a client record.
func (s *Store) Sharing(ctx context.Context, doc record.ID) (all Sharing, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		var people string
		row := tx.QueryRow("SELECT EXISTS (SELECT 1 FROM closed WHERE doc = ?1),"+
			" coalesce((SELECT group_concat(person, ' ') FROM grants WHERE doc = ?1), '')", packID(doc))
		err := row.Scan(&all.IsClosed, &people)
		all.People = strings.Fields(people)
		return err
	})
	return all, err
}

// Share says anew who of the staff sees a client record; it holds at once. Whoever loses it is
// told at the next contact. A coach keeps seeing it. It returns the ids of those who have to hear,
// ErrHidden if by does not see it themselves, and ErrNotFound for a record that is not here or a
// person who is no coach or assistant.
func (s *Store) Share(
	by Member, doc record.ID, want Sharing, nowMS int64,
) (hear map[string]bool, err error) {
	hear = map[string]bool{}
	err = s.write(func(tx *sql.Tx) error {
		if own, err := practiceDoc(tx); err != nil || doc == own {
			return errors.Join(ErrNotFound, err)
		}
		if _, err := findDoc(tx, doc); err != nil {
			return err
		}
		if may, err := canRead(tx, by.Person.ID, doc); err != nil || !may {
			return errors.Join(ErrHidden, err)
		}
		if by.Person.Role == sessions.Coach {
			want.People = append(want.People, by.Person.ID)
		}
		// Once before and once after, so that those who lose it and those who get it hear.
		if err := tellReaders(tx, doc, hear); err != nil {
			return err
		}
		if err := setSharing(tx, doc, want); err != nil {
			return err
		}
		if err := tellReaders(tx, doc, hear); err != nil {
			return err
		}
		result := "all"
		if want.IsClosed {
			result = "some"
		}
		return audit(tx, Event{AtMS: nowMS, Person: by.Person.ID, Device: by.Device.String(),
			Act: "share", Subject: doc.String(), Result: result})
	})
	return hear, err
}

func setSharing(tx *sql.Tx, doc record.ID, want Sharing) error {
	for _, table := range []string{"grants", "closed"} {
		if _, err := tx.Exec("DELETE FROM "+table+" WHERE doc = ?", packID(doc)); err != nil {
			return err
		}
	}
	if !want.IsClosed {
		return nil
	}
	if _, err := tx.Exec("INSERT INTO closed (doc) VALUES (?)", packID(doc)); err != nil {
		return err
	}
	for _, id := range want.People {
		p, err := person(tx, id)
		if err == nil && p.Role != sessions.Coach && p.Role != sessions.Assistant {
			err = ErrNotFound
		}
		if err != nil {
			return err
		}
		_, err = tx.Exec("INSERT INTO grants (doc, person) VALUES (?, ?) ON CONFLICT DO NOTHING",
			packID(doc), id)
		if err != nil {
			return err
		}
	}
	return nil
}

func tellReaders(tx *sql.Tx, doc record.ID, hear map[string]bool) error {
	if err := spread(tx, doc); err != nil {
		return err
	}
	return addReaders(tx, doc, hear)
}

// addReaders adds the ids of the people who may see a document.
func addReaders(tx *sql.Tx, doc record.ID, readers map[string]bool) error {
	return addIDs(tx, readers, "SELECT p.id FROM people p WHERE "+mayReadArg, packID(doc))
}

// addIDs adds the ids that a query finds.
func addIDs(tx *sql.Tx, ids map[string]bool, query string, args ...any) error {
	rows, err := tx.Query(query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return err
		}
		ids[id] = true
	}
	return rows.Err()
}
