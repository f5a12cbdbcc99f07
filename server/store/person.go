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

// CanRead reports whether p may see the document doc.
func (p Person) CanRead(doc record.ID) bool { return p.Doc.IsZero() || p.Doc == doc }

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
	wanted := make(map[record.ID]bool, len(docs))
	for _, doc := range docs {
		wanted[doc] = true
	}
	readers = map[string]bool{}
	err = s.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.Query("SELECT id, name, role, doc FROM people")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			p, err := scanPerson(rows)
			if err != nil {
				return err
			}
			if p.Doc.IsZero() || wanted[p.Doc] {
				readers[p.ID] = true
			}
		}
		return rows.Err()
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
	return err
}
