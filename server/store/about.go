package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Row is one row of a table with names and values as a person can read them: times in UTC as
// RFC 3339 with milliseconds, identities as they are shown elsewhere. What was not said is absent.
type Row map[string]any

// Received is an operation and when this server took it in.
type Received struct {
	record.Operation
	AtMS int64
}

// About is everything the file holds about one person beside and in their record. Left out are
// secrets and what they are checked by: hashes, salts, keys, chains.
type About struct {
	People      []Row
	Record      []Row // a client's record
	Readers     []Row // who of the staff may read it now
	Shared      []Row // to whom a closed record was opened by name, or which to a member of staff
	Phones      []Row
	Invitations []Row
	Refusals    []Row
	Audit       []Row
	Entries     []Received
}

// aboutWho begins each query: p is the person, d their phones.
const aboutWho = "WITH p AS (SELECT id FROM people WHERE doc = ?1 OR id = ?2)," +
	" d AS (SELECT id FROM devices WHERE person IN p) "

// About gathers what the file holds about the client of a document, or about a member of staff
// by their id. There is nothing about whom it does not know.
func (s *Store) About(ctx context.Context, doc record.ID, staff string) (about About, err error) {
	who := []any{packID(doc), staff}
	err = s.read(ctx, func(tx *sql.Tx) error {
		for _, part := range []struct {
			into  *[]Row
			query string
		}{
			{&about.People, "SELECT id, name, role, doc, created_ms FROM people WHERE id IN p" +
				" ORDER BY id"},
			{&about.Phones, "SELECT id AS device, person, created_ms, contact_ms, revoked_ms, ended_ms," +
				" wipe, told_ms, have AS entries, last_wall_ms, used_ms, day_count, passkey_ms" +
				" FROM devices WHERE id IN d ORDER BY created_ms, id"},
			{&about.Invitations, "SELECT handle, role, name, doc, person, made_by, created_ms," +
				" expires_ms, tries, used_ms, used_by, recovery, knock_ms," +
				" knock_name, knock_phone, knock_address, answered_ms, answer FROM invitations" +
				" WHERE doc = ?1 OR person IN p OR used_by IN d ORDER BY created_ms, handle"},
			{&about.Record, "SELECT id AS doc, kind, head AS entries, EXISTS (SELECT 1 FROM closed c" +
				" WHERE c.doc = docs.id) AS closed FROM docs WHERE id = ?1"},
			{&about.Readers, "SELECT p.id, p.name, p.role FROM people p, docs WHERE docs.id = ?1" +
				" AND p.doc IS NULL AND " + mayReadArg + " ORDER BY p.id"},
			{&about.Shared, "SELECT doc, person FROM grants WHERE doc = ?1 OR person IN p" +
				" ORDER BY doc, person"},
			{&about.Refusals, "SELECT device, seq AS number, code, at_ms FROM refusals" +
				" WHERE device IN d ORDER BY device, seq"},
		} {
			if *part.into, err = aboutRows(tx, aboutWho+part.query, who...); err != nil {
				return err
			}
		}
		if about.Entries, err = aboutEntries(tx, doc, who); err != nil {
			return err
		}
		about.Audit, err = about.lines(tx, doc)
		return err
	})
	return about, err
}

// aboutEntries returns the operations of a client's record, or what staff signed with.
func aboutEntries(tx *sql.Tx, doc record.ID, who []any) (all []Received, err error) {
	rows, err := tx.Query(aboutWho+"SELECT bytes, at_ms FROM ops WHERE CASE WHEN ?2 = ''"+
		" THEN doc = (SELECT num FROM docs WHERE id = ?1) ELSE device IN d END ORDER BY doc, n", who...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var stored []byte
		var r Received
		if err := rows.Scan(&stored, &r.AtMS); err != nil {
			return nil, err
		}
		if r.Operation, err = unpackOperation(stored); err != nil {
			return nil, err
		}
		if !doc.IsZero() || r.Kind == "author" {
			all = append(all, r)
		}
	}
	return all, rows.Err()
}

// lines returns the lines of the audit trail that name the person in any way.
func (about About) lines(tx *sql.Tx, doc record.ID) (all []Row, err error) {
	var names []string
	if !doc.IsZero() {
		names = append(names, doc.String())
	}
	for _, rows := range [][]Row{about.People, about.Phones, about.Invitations} {
		for _, row := range rows {
			for _, key := range []string{"id", "device", "handle"} {
				if name, is := row[key].(string); is {
					names = append(names, name)
				}
			}
		}
	}
	err = trail(tx, func(n int64, e Event, _ []byte) error {
		isNamed := slices.ContainsFunc([]string{e.Person, e.Device, e.Subject}, func(s string) bool {
			return slices.Contains(names, s)
		})
		if !isNamed {
			return nil
		}
		row := Row{"n": n, "at": Readable(e.AtMS)}
		for key, said := range map[string]string{"person": e.Person, "device": e.Device, "act": e.Act,
			"subject": e.Subject, "result": e.Result} {
			row.say(key, said)
		}
		all = append(all, row)
		return nil
	})
	return all, err
}

func aboutRows(tx *sql.Tx, query string, args ...any) (all []Row, err error) {
	rows, err := tx.Query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	values, places := make([]any, len(columns)), make([]any, len(columns))
	for i := range values {
		places[i] = &values[i]
	}
	for rows.Next() {
		if err := rows.Scan(places...); err != nil {
			return nil, err
		}
		row := Row{}
		for i, column := range columns {
			if err := row.put(column, values[i]); err != nil {
				return nil, err
			}
		}
		all = append(all, row)
	}
	return all, rows.Err()
}

// put takes up a value as it lies in the file.
func (r Row) put(column string, value any) error {
	name, isTime := strings.CutSuffix(column, "_ms")
	switch v := value.(type) {
	case nil:
	case string:
		r.say(name, v)
	case []byte:
		id, err := unpackID(v)
		if err != nil {
			return fmt.Errorf("%s: %w", column, err)
		}
		r[name] = id.String()
	case int64:
		switch {
		case isTime && v != 0:
			r[name] = Readable(v)
		case name == "device" || name == "used_by":
			r[name] = clock.Device(v).String()
		case !isTime:
			r[name] = v
		}
	default:
		return fmt.Errorf("%s: %w: a %T", column, ErrCorrupt, value)
	}
	return nil
}

func (r Row) say(name, said string) {
	if said != "" {
		r[name] = said
	}
}

// Readable is a moment in UTC as RFC 3339 with milliseconds.
func Readable(ms int64) string {
	return time.UnixMilli(ms).UTC().Format("2006-01-02T15:04:05.000Z")
}
