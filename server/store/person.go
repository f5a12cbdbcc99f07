package store

import (
	"context"
	"database/sql"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// Person is a coach, an assistant, a client or the owner.
type Person struct {
	ID   string
	Name string
	Role sessions.Role
	Doc  record.ID // the one document a client may see; zero for all others
}

// HasOwner reports whether somebody has claimed the practice.
func (s *Store) HasOwner(ctx context.Context) (has bool, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		has, err = hasOwner(tx)
		return err
	})
	return has, err
}

func hasOwner(tx *sql.Tx) (has bool, err error) {
	err = tx.QueryRow("SELECT EXISTS (SELECT 1 FROM people WHERE role = 'owner')").Scan(&has)
	return has, err
}

// Readers returns the ids of the people who may see any of docs.
func (s *Store) Readers(
	ctx context.Context, docs []record.ID,
) (readers map[string]bool, err error) {
	readers = map[string]bool{}
	err = s.read(ctx, func(tx *sql.Tx) error {
		for _, doc := range docs {
			if err := addReaders(tx, doc, readers); err != nil {
				return err
			}
		}
		return nil
	})
	return readers, err
}

func person(tx *sql.Tx, id string) (Person, error) {
	return scanPerson(tx.QueryRow("SELECT id, name, role, doc FROM people WHERE id = ?", id))
}

// clientOf returns the client who sees doc.
func clientOf(tx *sql.Tx, doc record.ID) (Person, error) {
	return scanPerson(tx.QueryRow("SELECT id, name, role, doc FROM people WHERE doc = ?",
		packID(doc)))
}

func scanPerson(row interface{ Scan(...any) error }) (Person, error) {
	var p Person
	var doc []byte
	if err := row.Scan(&p.ID, &p.Name, &p.Role, &doc); err != nil {
		return Person{}, translate(err)
	}
	if doc == nil {
		return p, nil
	}
	var err error
	p.Doc, err = unpackID(doc)
	return p, err
}

func addPerson(tx *sql.Tx, p Person, nowMS int64) error {
	var doc []byte
	if !p.Doc.IsZero() {
		doc = packID(p.Doc)
	}
	_, err := tx.Exec("INSERT INTO people (id, name, role, doc, created_ms)"+
		" VALUES (?, ?, ?, ?, ?)", p.ID, p.Name, p.Role, doc, nowMS)
	if err != nil {
		return err
	}
	return catchUp(tx, p.ID)
}
