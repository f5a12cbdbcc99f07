package store

import (
	"context"
	"database/sql"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Practice is what a phone is told about the practice it belongs to.
type Practice struct {
	ID   string
	Name string
	Doc  record.ID // the practice document
}

// Practice returns the practice. Its name is empty until an owner has claimed it.
func (s *Store) Practice(ctx context.Context) (p Practice, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		if p.ID, err = meta(tx, metaPractice); err != nil {
			return err
		}
		if p.Doc, err = practiceDoc(tx); err != nil {
			return err
		}
		doc, err := document(tx, p.Doc)
		if err != nil {
			return err
		}
		for _, r := range doc.Records(sessions.KindPractice) {
			p.Name, _ = r.Text("name")
		}
		return nil
	})
	return p, err
}

// namePractice writes the first operation of the practice document: its name.
// The server's own device makes it, once; afterwards the owner's phones write.
func namePractice(tx *sql.Tx, name string, nowMS int64) error {
	id, err := practiceDoc(tx)
	if err != nil {
		return err
	}
	doc := record.NewDoc(id)
	pen := record.NewAuthor(id.Device, 0, zeroChain, clock.New(id.Device, clock.Stamp{}))
	_, ops, err := pen.Create(doc, sessions.KindPractice,
		[]record.FieldValue{{Field: "name", Value: record.Text(name)}}, nowMS)
	if err != nil {
		return err
	}
	_, err = appendOperations(tx, ops, nowMS)
	return err
}
