package store

import (
	"context"
	"database/sql"

	"evenhold/sync/record"
)

// Everybody returns all people, by name.
func (s *Store) Everybody(ctx context.Context) ([]Listed, error) { return s.listed(ctx, "1") }

// Quiet returns the client records into which nothing came since a moment, in milliseconds
// since 1970 UTC.
func (s *Store) Quiet(ctx context.Context, sinceMS int64) (docs []record.ID, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		own, err := practiceDoc(tx)
		if err != nil {
			return err
		}
		docs, err = ids(tx, "SELECT id FROM docs WHERE id <> ? AND NOT EXISTS"+
			" (SELECT 1 FROM ops WHERE ops.doc = docs.num AND ops.at_ms >= ?) ORDER BY id",
			packID(own), sinceMS)
		return err
	})
	return docs, err
}

// ChangedElsewhere returns a number that is another one after another process has written to
// the file, and not after this one has.
func (s *Store) ChangedElsewhere() (version int64, err error) {
	row := s.writer.QueryRow("PRAGMA data_version")
	return version, translate(row.Scan(&version))
}
