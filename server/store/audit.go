package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
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

// Tail is the end of the audit trail: how many lines there are, and the last
// one's link. Kept elsewhere, it shows later whether lines were taken away.
type Tail struct {
	Lines int64
	Link  [32]byte
}

// String returns the number of lines and the link in hexadecimal digits.
func (t Tail) String() string {
	return fmt.Sprintf("%d:%s", t.Lines, hex.EncodeToString(t.Link[:]))
}

// ParseTail reads what String wrote.
func ParseTail(text string) (t Tail, err error) {
	var link string
	if _, err := fmt.Sscanf(text, "%d:%s", &t.Lines, &link); err != nil {
		return Tail{}, fmt.Errorf("tail of the audit trail: %w", err)
	}
	b, err := hex.DecodeString(link)
	if err != nil || copy(t.Link[:], b) != len(t.Link) || len(b) != len(t.Link) {
		return Tail{}, fmt.Errorf("tail of the audit trail: %q is no link", link)
	}
	return t, nil
}

// Audit adds a line to the audit trail.
func (s *Store) Audit(e Event) error {
	return s.write(func(tx *sql.Tx) error { return audit(tx, e) })
}

// audit adds a line and links it to the one before: a line that is changed or taken out
// later shows. The tail is kept beside the trail, so that cutting its end shows as well.
func audit(tx *sql.Tx, e Event) error {
	tail, err := auditTail(tx)
	if err != nil {
		return err
	}
	tail.Lines++
	tail.Link = link(tail, e)
	_, err = tx.Exec("INSERT INTO audit (n, at_ms, person, device, act, subject, result, link)"+
		" VALUES (?, ?, ?, ?, ?, ?, ?, ?)", tail.Lines, e.AtMS, e.Person, e.Device, e.Act, e.Subject,
		e.Result, tail.Link[:])
	if err != nil {
		return err
	}
	return setMeta(tx, metaTrail, tail.String())
}

// auditTail returns the tail that is kept; that of an empty trail is zero.
func auditTail(tx *sql.Tx) (Tail, error) {
	text, err := meta(tx, metaTrail)
	if errors.Is(err, ErrNotFound) {
		return Tail{}, nil
	}
	if err != nil {
		return Tail{}, err
	}
	tail, err := ParseTail(text)
	if err != nil {
		return Tail{}, fmt.Errorf("%w: %w", ErrCorrupt, err)
	}
	return tail, nil
}

// link is the link of line number after.Lines, which says e; after.Link is the one before it.
// Every text goes in after its length, so that no two lines give the same bytes.
func link(after Tail, e Event) [32]byte {
	b := append([]byte(nil), after.Link[:]...)
	b = binary.BigEndian.AppendUint64(b, uint64(after.Lines))
	b = binary.BigEndian.AppendUint64(b, uint64(e.AtMS))
	for _, text := range []string{e.Person, e.Device, e.Act, e.Subject, e.Result} {
		b = binary.BigEndian.AppendUint32(b, uint32(len(text)))
		b = append(b, text...)
	}
	return sha256.Sum256(b)
}

// Trail calls f for each line of the audit trail in order, with its number.
func (s *Store) Trail(ctx context.Context, f func(n int64, e Event) error) error {
	return s.read(ctx, func(tx *sql.Tx) error {
		return trail(tx, func(n int64, e Event, _ []byte) error { return f(n, e) })
	})
}

// trail calls f for each line of the audit trail in order, with its number and stored link.
func trail(tx *sql.Tx, f func(n int64, e Event, stored []byte) error) error {
	rows, err := tx.Query("SELECT n, at_ms, person, device, act, subject, result, link FROM audit" +
		" ORDER BY n")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var n int64
		var e Event
		var stored []byte
		err := rows.Scan(&n, &e.AtMS, &e.Person, &e.Device, &e.Act, &e.Subject, &e.Result, &stored)
		if err != nil {
			return err
		}
		if err := f(n, e, stored); err != nil {
			return err
		}
	}
	return rows.Err()
}

// linkTrail gives the lines of an earlier version their links.
func linkTrail(tx *sql.Tx) error {
	var tail Tail
	links := map[int64][32]byte{}
	var numbers []int64
	err := trail(tx, func(n int64, e Event, _ []byte) error {
		tail.Lines = n
		tail.Link = link(tail, e)
		links[n] = tail.Link
		numbers = append(numbers, n)
		return nil
	})
	if err != nil {
		return err
	}
	for _, n := range numbers {
		stored := links[n]
		if _, err := tx.Exec("UPDATE audit SET link = ? WHERE n = ?", stored[:], n); err != nil {
			return err
		}
	}
	_, err = tx.Exec("CREATE TRIGGER audit_no_update BEFORE UPDATE ON audit" +
		" BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END")
	if err != nil {
		return err
	}
	return setMeta(tx, metaTrail, tail.String())
}

// checkTrail follows the links and returns what is wrong with the first bad line, "" if
// all is well.
func checkTrail(tx *sql.Tx) (fault string, err error) {
	kept, err := auditTail(tx)
	if err != nil {
		return "", err
	}
	var tail Tail
	stop := errors.New("stop")
	err = trail(tx, func(n int64, e Event, stored []byte) error {
		if n != tail.Lines+1 {
			fault = fmt.Sprintf("line %d of the audit trail is missing", tail.Lines+1)
			return stop
		}
		tail.Lines = n
		tail.Link = link(tail, e)
		if !bytes.Equal(tail.Link[:], stored) {
			fault = fmt.Sprintf("line %d of the audit trail was changed, or one before it", n)
			return stop
		}
		return nil
	})
	if errors.Is(err, stop) {
		return fault, nil
	}
	if err == nil && tail != kept {
		fault = fmt.Sprintf("the audit trail ends at line %d, %d lines were written",
			tail.Lines, kept.Lines)
	}
	return fault, err
}
