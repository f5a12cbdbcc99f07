package store

import (
	"context"
	"database/sql"
	"slices"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// KeepReading writes down that a member of staff is about to get entries of clients' records: one
// line for each person, record and day in UTC, however often their phones fetch, so that the trail
// says who read whom and stays short. A client's own reading, of the own record, is not written.
func (s *Store) KeepReading(
	ctx context.Context, m Member, pages []wire.Page, nowMS int64,
) error {
	var docs []record.ID
	for _, page := range pages {
		if m.Person.Doc.IsZero() && len(page.Ops) > 0 && !slices.Contains(docs, page.Doc) {
			docs = append(docs, page.Doc)
		}
	}
	if len(docs) == 0 {
		return nil
	}
	err := s.read(ctx, func(tx *sql.Tx) (err error) {
		docs, err = notKept(tx, m.Person.ID, docs, nowMS)
		return err
	})
	if err != nil || len(docs) == 0 {
		return err
	}
	return s.write(func(tx *sql.Tx) error {
		fresh, err := notKept(tx, m.Person.ID, docs, nowMS) // another phone may have come between
		if err != nil {
			return err
		}
		for _, doc := range fresh {
			err := audit(tx, Event{AtMS: nowMS, Person: m.Person.ID, Device: m.Device.String(),
				Act: "read", Subject: doc.String(), Result: "ok"})
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// notKept returns those of docs, without the practice's own, whose reading by a person this day is
// not in the trail yet. It goes back from the trail's end to the day before.
func notKept(tx *sql.Tx, person string, docs []record.ID, nowMS int64) ([]record.ID, error) {
	own, err := practiceDoc(tx)
	if err != nil {
		return nil, err
	}
	kept := map[string]bool{own.String(): true}
	today := nowMS - nowMS%dayMS
	rows, err := tx.Query("SELECT at_ms, person, act, subject FROM audit ORDER BY n DESC")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var e Event
		if err := rows.Scan(&e.AtMS, &e.Person, &e.Act, &e.Subject); err != nil {
			return nil, err
		}
		if e.AtMS < today {
			break
		}
		if e.Act == "read" && e.Person == person && e.AtMS < today+dayMS {
			kept[e.Subject] = true
		}
	}
	fresh := slices.DeleteFunc(slices.Clone(docs), func(doc record.ID) bool {
		return kept[doc.String()]
	})
	return fresh, rows.Err()
}
