package store

import (
	"errors"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

func invite(t *testing.T, s *Store, handle string, doc record.ID) {
	t.Helper()
	inv := Invitation{Handle: handle, SecretMAC: []byte("right"), Role: sessions.Coach,
		Name: "Robin Example", Doc: doc, ExpiresMS: noon + 1000}
	if !doc.IsZero() {
		inv.Role = sessions.ClientOf
	}
	if err := s.AddInvitation(inv, noon); err != nil {
		t.Fatal(err)
	}
}

// TestInvitation_Ends: used, expired, guessed and unknown invitations let nobody in, and say so.
func TestInvitation_Ends(t *testing.T) {
	s := openNew(t)
	for _, handle := range []string{"USED", "TOOLATE", "JUSTINTIME"} {
		invite(t, s, handle, record.ID{})
	}
	if _, err := s.Join("USED", []byte("right"), Joining{Device: 1, SecretHash: [32]byte{1}},
		noon); err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		handle, mac string
		atMS        int64
		want        error
	}{
		{"USED", "right", noon, ErrUsed},
		{"USED", "wrong", noon, ErrWrongCode},
		{"TOOLATE", "right", noon + 1000, ErrExpired},
		{"TOOLATE", "wrong", noon + 1000, ErrWrongCode},
		{"NOSUCH", "right", noon, ErrWrongCode},
		{"JUSTINTIME", "right", noon + 999, nil},
	}
	for _, tt := range tests {
		_, err := s.Look(tt.handle, []byte(tt.mac), tt.atMS)
		if !errors.Is(err, tt.want) {
			t.Errorf("Look(%s, %s): %v, want %v", tt.handle, tt.mac, err, tt.want)
		}
		_, err = s.Join(tt.handle, []byte(tt.mac), Joining{Device: 2, SecretHash: [32]byte{2}},
			tt.atMS)
		if !errors.Is(err, tt.want) {
			t.Errorf("Join(%s, %s): %v, want %v", tt.handle, tt.mac, err, tt.want)
		}
	}
}

// TestInvitation_FiveTries: after five wrong secrets the right one is too late.
func TestInvitation_FiveTries(t *testing.T) {
	s := openNew(t)
	invite(t, s, "H", record.ID{})
	for try, want := range []error{ErrWrongCode, ErrWrongCode, ErrWrongCode, ErrWrongCode,
		ErrLocked, ErrLocked} {
		if _, err := s.Look("H", []byte("wrong"), noon); !errors.Is(err, want) {
			t.Errorf("try %d: %v, want %v", try+1, err, want)
		}
	}
	if _, err := s.Join("H", []byte("right"), Joining{Device: 1}, noon); !errors.Is(err, ErrLocked) {
		t.Errorf("the right secret: %v, want %v", err, ErrLocked)
	}
}

// TestInvitation_LookUsesNothingUp: a page that is opened ten times leaves it open.
func TestInvitation_LookUsesNothingUp(t *testing.T) {
	s := openNew(t)
	invite(t, s, "H", record.ID{})
	for range 10 {
		if inv, err := s.Look("H", []byte("right"), noon); err != nil || inv.Name != "Robin Example" {
			t.Fatal(inv, err)
		}
	}
	if _, err := s.Join("H", []byte("right"), Joining{Device: 1}, noon); err != nil {
		t.Error(err)
	}
}

// TestInvitation_LostAnswer: the phone that used it and did not hear so may ask again, for ten
// minutes and until it has sent something; no other phone may.
func TestInvitation_LostAnswer(t *testing.T) {
	s := openNew(t)
	invite(t, s, "H", record.ID{})
	join := func(device uint64, secret byte, atMS int64) error {
		_, err := s.Join("H", []byte("right"),
			Joining{Device: clock.Device(device), SecretHash: [32]byte{secret}}, atMS)
		return err
	}
	if err := join(1, 1, noon); err != nil {
		t.Fatal(err)
	}
	if err := join(1, 2, noon+1); err != nil {
		t.Errorf("the same phone again: %v", err)
	}
	if err := join(2, 3, noon+1); !errors.Is(err, ErrUsed) {
		t.Errorf("another phone: %v, want %v", err, ErrUsed)
	}
	if err := join(1, 4, noon+retryMS); !errors.Is(err, ErrUsed) {
		t.Errorf("too late: %v, want %v", err, ErrUsed)
	}
	if _, err := s.CredentialByFirst(t.Context(), [32]byte{1}); !errors.Is(err, ErrNotFound) {
		t.Errorf("the lost secret still lets in: %v", err)
	}
	c, err := s.CredentialByFirst(t.Context(), [32]byte{2})
	if err != nil {
		t.Fatal(err)
	}
	p := newPen(1)
	p.write(t, "a")
	if _, err := s.Push(p.request(1, 1), c.Member, allow, noon); err != nil {
		t.Fatal(err)
	}
	if err := join(1, 5, noon+2); !errors.Is(err, ErrUsed) {
		t.Errorf("after it has sent something: %v, want %v", err, ErrUsed)
	}
}

// TestInvitation_SecondPhoneOfAClient: one client record, one person, however many phones.
func TestInvitation_SecondPhoneOfAClient(t *testing.T) {
	s := openNew(t)
	doc := record.ID{Device: 9, Seq: 4}
	a := enrol(t, s, sessions.ClientOf, doc, 1)
	b := enrol(t, s, sessions.ClientOf, doc, 2)
	if a.Person != b.Person || a.Person.Doc != doc {
		t.Errorf("two phones, two people: %+v and %+v", a.Person, b.Person)
	}
}

// TestJoin_IdentityInUse: no phone gets an identity that exists, not even the server's own.
func TestJoin_IdentityInUse(t *testing.T) {
	s := openNew(t)
	enrol(t, s, sessions.Owner, record.ID{}, 7)
	p, err := s.Practice(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	invite(t, s, "H", record.ID{})
	for _, device := range []uint64{7, uint64(p.Doc.Device), 0} {
		_, err := s.Join("H", []byte("right"),
			Joining{Device: clock.Device(device), SecretHash: [32]byte{8}}, noon)
		if !errors.Is(err, ErrTaken) {
			t.Errorf("device %d: %v, want %v", device, err, ErrTaken)
		}
	}
}
