package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// noon is a reading in the middle of a day, 2026-03-02 12:00 UTC.
const noon = int64(1_772_452_800_000)

func openAt(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() }) // a test may have closed it
	return s
}

func openNew(t testing.TB) *Store {
	t.Helper()
	return openAt(t, filepath.Join(t.TempDir(), "practice.db"))
}

// enrol lets a device in by an invitation, as phones come in.
func enrol(t testing.TB, s *Store, role sessions.Role, doc record.ID, d clock.Device) Member {
	t.Helper()
	inv := Invitation{
		Handle: fmt.Sprintf("H%d", d), SecretMAC: []byte("mac"), Role: role, Name: "Robin Example",
		Doc: doc, ExpiresMS: noon + 1,
	}
	if err := s.AddInvitation(inv, noon); err != nil {
		t.Fatal(err)
	}
	m, err := s.Join(inv.Handle, inv.SecretMAC, Joining{
		Device: d, SecretHash: sha256.Sum256([]byte(d.String())), Practice: "Example Practice",
	}, noon)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// anything allows every operation whose value is not "forbidden".
type anything struct{}

func (anything) May(op record.Operation) string {
	if said, _ := op.Value.Text(); said == "forbidden" {
		return wire.CodeForbidden
	}
	return ""
}

func allow(*Sheet) exchange.Rules { return anything{} }

// pen writes operations of one device into its own document.
type pen struct {
	*record.Author
	doc *record.Doc
	ops []record.Operation
}

func newPen(d clock.Device) *pen {
	return &pen{
		Author: record.NewAuthor(d, 0, zeroChain, clock.New(d, clock.Stamp{})),
		doc:    record.NewDoc(record.ID{Device: d, Seq: 1}),
	}
}

// write makes one record for each text.
func (p *pen) write(t testing.TB, texts ...string) {
	t.Helper()
	for _, text := range texts {
		fields := []record.FieldValue{{Field: "note", Value: record.Text(text)}}
		_, ops, err := p.Create(p.doc, "session", fields, noon)
		if err != nil {
			t.Fatal(err)
		}
		p.ops = append(p.ops, ops...)
	}
}

// request pushes the operations from number first to last, both counted.
func (p *pen) request(first, last int) wire.Request {
	q := wire.Request{Schema: wire.Schema, Device: p.Device(), PushFrom: uint64(first - 1)}
	for _, op := range p.ops[:first-1] {
		q.Chain = record.NextChain(q.Chain, op)
	}
	q.Push = p.ops[first-1 : last]
	return q
}

// dump returns every row of every table as text.
func dump(t testing.TB, s *Store) string {
	t.Helper()
	var all strings.Builder
	err := s.read(context.Background(), func(tx *sql.Tx) error {
		tables := []string{"meta", "people", "devices", "invitations", "docs", "ops", "records",
			"refusals", "erased", "audit"}
		for _, table := range tables {
			columns := "*"
			if table == "ops" {
				columns = "doc, n, device, seq, bytes" // when one came in is read by nobody
			}
			rows, err := tx.Query("SELECT " + columns + " FROM " + table + " ORDER BY 1, 2")
			if err != nil {
				return err
			}
			names, err := rows.Columns()
			if err != nil {
				return err
			}
			for rows.Next() {
				values := make([]any, len(names))
				for i := range values {
					values[i] = new(any)
				}
				if err := rows.Scan(values...); err != nil {
					return err
				}
				for _, v := range values {
					fmt.Fprintf(&all, "%v ", *v.(*any))
				}
				all.WriteString(table + "\n")
			}
			if err := errors.Join(rows.Err(), rows.Close()); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all.String()
}

func TestPractice_NamedByItsOwner(t *testing.T) {
	s := openNew(t)
	p, err := s.Practice(t.Context())
	if err != nil || p.Name != "" {
		t.Errorf("a new practice: %+v, %v; want no name", p, err)
	}
	if has, err := s.HasOwner(t.Context()); err != nil || has {
		t.Errorf("a new practice: owner %v, %v", has, err)
	}
	enrol(t, s, sessions.Owner, record.ID{}, 7)
	p, err = s.Practice(t.Context())
	if err != nil || p.Name != "Example Practice" || p.Doc.Seq != 1 {
		t.Errorf("a claimed practice: %+v, %v", p, err)
	}
	if has, err := s.HasOwner(t.Context()); err != nil || !has {
		t.Errorf("a claimed practice: owner %v, %v", has, err)
	}
}

// TestPractice_OneOwner: a second set-up invitation, were there one, lets nobody in.
func TestPractice_OneOwner(t *testing.T) {
	s := openNew(t)
	enrol(t, s, sessions.Owner, record.ID{}, 7)
	inv := Invitation{Handle: "OTHER", SecretMAC: []byte("m"), Role: sessions.Owner,
		ExpiresMS: noon + 1}
	if err := s.AddInvitation(inv, noon); err != nil {
		t.Fatal(err)
	}
	_, err := s.Join("OTHER", []byte("m"), Joining{Device: 8, Name: "x", Practice: "y"}, noon)
	if !errors.Is(err, ErrUsed) {
		t.Errorf("second owner: %v, want %v", err, ErrUsed)
	}
}
