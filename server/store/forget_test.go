package store

import (
	"database/sql"
	"errors"
	"slices"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

const staffMarker = "MARKER-OF-A-COACH"

// staffed returns a file with an owner on phone 7 and a coach with the marker for a name on
// phone 8, who is named in invitations used and unused, and sees a closed record by name.
func staffed(t *testing.T) (*Store, *pen, Member) {
	t.Helper()
	s, p, owner := busy(t)
	for _, handle := range []string{"FIRST", "NEVERUSED"} {
		inv := Invitation{Handle: handle, SecretMAC: []byte("mac"), Role: sessions.Coach,
			Name: staffMarker, MadeBy: owner, ExpiresMS: noon + 1}
		if err := s.AddInvitation(inv, noon); err != nil {
			t.Fatal(err)
		}
	}
	coach, err := s.Join("FIRST", []byte("mac"), Joining{Device: 8, SecretHash: [32]byte{8}}, noon)
	if err != nil {
		t.Fatal(err)
	}
	for _, handle := range []string{"SECOND", "OPEN"} {
		inv := Invitation{Handle: handle, SecretMAC: []byte("mac"), Person: coach.Person.ID,
			MadeBy: owner, ExpiresMS: noon + 1}
		if err := s.AddInvitation(inv, noon); err != nil {
			t.Fatal(err)
		}
	}
	_, err = s.Join("SECOND", []byte("mac"), Joining{Device: 9, SecretHash: [32]byte{9}}, noon)
	if err != nil {
		t.Fatal(err)
	}
	want := Sharing{IsClosed: true, People: []string{coach.Person.ID}}
	if _, err := s.Share(owner, p.doc.ID(), want, noon); err != nil {
		t.Fatal(err)
	}
	return s, p, coach
}

// TestForgetStaff: not one byte of the name of a coach who signed nothing is left, no phone and no
// invitation of theirs lets anybody in, and nothing is shared with them.
func TestForgetStaff(t *testing.T) {
	s, p, coach := staffed(t)
	if !holds(t, s.path, staffMarker) {
		t.Fatal("the marker is nowhere: the search is no good")
	}
	if err := s.ForgetStaff(coach.Person.ID, noon); err != nil {
		t.Fatal(err)
	}
	if err := s.Scrub(); err != nil {
		t.Fatal(err)
	}
	if holds(t, s.path, staffMarker) {
		t.Error("the name is still in the folder")
	}
	shared, err := s.Sharing(t.Context(), p.doc.ID())
	if err != nil || !shared.IsClosed || len(shared.People) != 0 {
		t.Errorf("shared with %+v, %v; want it closed to all but the owner", shared, err)
	}
	if _, err := s.CredentialOf(t.Context(), 9); !errors.Is(err, ErrRevoked) {
		t.Errorf("their second phone: %v, want %v", err, ErrRevoked)
	}
	if _, err := s.Look("OPEN", []byte("mac"), noon); !errors.Is(err, ErrWrongCode) {
		t.Errorf("their open invitation: %v, want %v", err, ErrWrongCode)
	}
	if inv, err := s.Look("NEVERUSED", []byte("mac"), noon); err != nil || inv.Name != "" {
		t.Errorf("one that bore the name: %+v, %v; want it open, without a name", inv, err)
	}
	sound(t, s)
}

// TestForgetStaff_SignaturesStay: a name that phones wrote into a record stays there, in the
// author record and nowhere else, and the record is as sound as before.
func TestForgetStaff_SignaturesStay(t *testing.T) {
	s, p, coach := staffed(t)
	c := newPen(8)
	_, ops, err := c.Create(p.doc, sessions.KindAuthor,
		sessions.Author{Name: staffMarker, Role: sessions.Coach}.Values(), noon)
	if err != nil {
		t.Fatal(err)
	}
	c.ops = ops
	c.doc = p.doc
	c.write(t, "a note of the coach")
	done, err := s.Push(c.request(1, len(c.ops)), coach, allow, noon)
	if err != nil || len(done.Accepted) != len(c.ops) {
		t.Fatalf("the coach's push: %+v, %v", done.Judgement, err)
	}
	if err := s.ForgetStaff(coach.Person.ID, noon); err != nil {
		t.Fatal(err)
	}
	if err := s.Scrub(); err != nil {
		t.Fatal(err)
	}
	if got := named(t, s); !slices.Equal(got, []string{"ops"}) {
		t.Errorf("the name is in %v, want it in the author record only", got)
	}
	if got := count(t, s, "SELECT count(*) FROM ops WHERE instr(bytes, CAST(? AS BLOB))"); got != 1 {
		t.Errorf("%d operations hold the name, want the one of the author record", got)
	}
	doc, err := s.Document(t.Context(), p.doc.ID())
	if author, _ := sessions.AuthorOf(doc, 8); err != nil || author.Name != staffMarker {
		t.Errorf("the record is signed %+v, %v", author, err)
	}
	sound(t, s)
}

// TestForgetStaff_NobodyElse: the owner, clients and strangers are not forgotten so.
func TestForgetStaff_NobodyElse(t *testing.T) {
	s, _, owner := busy(t)
	client := enrol(t, s, sessions.ClientOf, record.ID{Device: 7, Seq: 9}, 10)
	for id, want := range map[string]error{
		owner.Person.ID: ErrPractice, client.Person.ID: ErrPractice, "nobody": ErrNotFound,
	} {
		if err := s.ForgetStaff(id, noon); !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", id, err, want)
		}
	}
}

// named returns the tables that hold the marker, in this order.
func named(t *testing.T, s *Store) (tables []string) {
	t.Helper()
	for _, in := range [][2]string{{"people", "name"}, {"invitations", "name"},
		{"audit", "subject"}, {"ops", "bytes"}} {
		query := "SELECT count(*) FROM " + in[0] + " WHERE instr(CAST(" + in[1] +
			" AS BLOB), CAST(? AS BLOB))"
		if count(t, s, query) > 0 {
			tables = append(tables, in[0])
		}
	}
	return tables
}

// count runs a query of one number about the marker.
func count(t *testing.T, s *Store, query string) (n int) {
	t.Helper()
	err := s.read(t.Context(), func(tx *sql.Tx) error {
		return tx.QueryRow(query, staffMarker).Scan(&n)
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}
