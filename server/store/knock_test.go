package store

import (
	"database/sql"
	"errors"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// addresses counts the phones of which the file has kind or address.
func addresses(t *testing.T, s *Store) (n int) {
	t.Helper()
	err := s.read(t.Context(), func(tx *sql.Tx) error {
		return tx.QueryRow("SELECT count(*) FROM invitations WHERE knock_address IS NOT NULL" +
			" OR knock_phone IS NOT NULL").Scan(&n)
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestKnock_KeepsNoAddress: where a phone came from is kept until it is answered, or until the next
// invitation once it has stopped waiting.
func TestKnock_KeepsNoAddress(t *testing.T) {
	s := openNew(t)
	owner := enrol(t, s, sessions.Owner, record.ID{}, 7)
	add := func(handle string, nowMS int64) {
		t.Helper()
		inv := Invitation{Handle: handle, SecretMAC: []byte("right"), Role: sessions.Coach,
			Name: "Robin Example", MadeBy: owner, NeedsTap: true, ExpiresMS: nowMS + 1000}
		if err := s.AddInvitation(inv, nowMS); err != nil {
			t.Fatal(err)
		}
	}
	for i, handle := range []string{"ANSWERED", "LEFT"} {
		add(handle, noon)
		j := Joining{Device: 20, Phone: "android", Address: "192.0.2.7"}
		j.SecretHash[0] = byte(i)
		if _, err := s.Join(handle, []byte("right"), j, noon); !errors.As(err, new(Waits)) {
			t.Fatalf("a knock: %v", err)
		}
	}
	if n := addresses(t, s); n != 2 {
		t.Fatalf("of %d phones there is something to show, want two", n)
	}
	if err := s.AnswerKnock(owner, "ANSWERED", true, noon); err != nil {
		t.Fatal(err)
	}
	if n := addresses(t, s); n != 1 {
		t.Errorf("after the answer %d are kept, want one", n)
	}
	add("NEXT", noon+knockMS-1)
	if n := addresses(t, s); n != 1 {
		t.Errorf("of a phone that still waits %d are kept, want one", n)
	}
	add("LATER", noon+knockMS)
	if n := addresses(t, s); n != 0 {
		t.Errorf("when all have stopped waiting %d are kept", n)
	}
}
