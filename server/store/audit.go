package store

import (
	"database/sql"
)

// Event is one line of the audit trail: who did what to which identity, from
// which device, with what result. It never holds a name, a note or a measurement.
type Event struct {
	AtMS    int64
	Person  string // person id, or "" before anyone is known
	Device  string // device id, or ""
	Act     string // "join", "invite", "push", …
	Subject string // id of what was acted on
	Result  string // "ok" or a code
}

// Audit adds a line to the audit trail.
func (s *Store) Audit(e Event) error {
	return s.write(func(tx *sql.Tx) error { return audit(tx, e) })
}

func audit(tx *sql.Tx, e Event) error {
	_, err := tx.Exec("INSERT INTO audit (at_ms, person, device, act, subject, result)"+
		" VALUES (?, ?, ?, ?, ?, ?)", e.AtMS, e.Person, e.Device, e.Act, e.Subject, e.Result)
	return err
}
