package access

import (
	"errors"
	"math"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/clock"
)

// TestRecovery_Shape: "Application Security Verification Standard", OWASP, 5.0, 2025, 6.5.2, lets
// codes of 112 bits and more do without a slow hash.
func TestRecovery_Shape(t *testing.T) {
	c := NewRecoveryCode()
	if bits := float64(len(c.secret)) * math.Log2(float64(len(alphabet))); bits < 112 {
		t.Errorf("a secret has %.1f bits, want 112", bits)
	}
	if read, err := ParseCode(c.String()); err != nil || read != c {
		t.Errorf("ParseCode(%s) = %s, %v", c, read, err)
	}
	for _, wrong := range []string{c.String()[:len(c.String())-1], c.String() + "B"} {
		if _, err := ParseCode(wrong); !errors.Is(err, ErrCode) {
			t.Errorf("ParseCode(%s): %v, want %v", wrong, err, ErrCode)
		}
	}
}

func recovery(t *testing.T, d *Desk) []Code {
	t.Helper()
	codes, err := d.Recovery()
	if err != nil || len(codes) != 10 {
		t.Fatalf("%d codes, %v", len(codes), err)
	}
	return codes
}

// TestRecovery_EachLetsTheOwnerInOnce: ten codes, ten phones of the one owner, years later; each
// code is good once.
func TestRecovery_EachLetsTheOwnerInOnce(t *testing.T) {
	d, now := newDesk(t)
	if _, err := d.Recovery(); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("without an owner: %v, want %v", err, store.ErrNotFound)
	}
	owner := claim(t, d)
	codes := recovery(t, d)
	now.now = now.now.AddDate(20, 0, 0)
	for i, c := range codes {
		m, err := d.Join("192.0.2.1", c.String(), joining(clock.Device(10+i)))
		if err != nil || m.Person != owner.Person || m.Person.Role != sessions.Owner {
			t.Fatalf("code %d lets in %+v, %v", i, m, err)
		}
	}
	for i, c := range codes {
		_, err := d.Join("192.0.2.1", c.String(), joining(clock.Device(30+i)))
		if !errors.Is(err, store.ErrUsed) {
			t.Errorf("code %d again: %v, want %v", i, err, store.ErrUsed)
		}
	}
}

// TestRecovery_NewOnesEndTheOld, used or not, and leave invitations alone.
func TestRecovery_NewOnesEndTheOld(t *testing.T) {
	d, _ := newDesk(t)
	owner := claim(t, d)
	other, _, err := d.Invite(owner, Guest{Role: sessions.Coach, Name: "Kim Example"})
	if err != nil {
		t.Fatal(err)
	}
	old := recovery(t, d)
	if _, err := d.Join("192.0.2.1", old[0].String(), joining(10)); err != nil {
		t.Fatal(err)
	}
	fresh := recovery(t, d)
	for i, c := range old {
		if _, err := d.Look("192.0.2."+string(rune('1'+i%9)), c.String()); err == nil {
			t.Errorf("old code %d still works", i)
		}
	}
	for _, c := range append(fresh, other) {
		if _, err := d.Look("198.51.100.1", c.String()); err != nil {
			t.Errorf("%s: %v", c, err)
		}
	}
}

// TestRecovery_Guessing is slowed like any other, and does not use up the code: who wants to keep
// the owner out could else.
func TestRecovery_Guessing(t *testing.T) {
	d, now := newDesk(t)
	claim(t, d)
	live := recovery(t, d)[0]
	slowed := 0
	for range 1000 {
		guess := NewRecoveryCode()
		guess.handle = live.handle
		switch _, err := d.Look("192.0.2.66", guess.String()); {
		case errors.Is(err, ErrSlow):
			slowed++
		case !errors.Is(err, store.ErrWrongCode):
			t.Fatalf("a guess: %v", err)
		}
	}
	if slowed != 1000-wrongBurst {
		t.Errorf("%d of 1000 guesses were slowed down, want all but %d", slowed, wrongBurst)
	}
	now.now = now.now.Add(time.Hour)
	if _, err := d.Join("192.0.2.67", live.String(), joining(2)); err != nil {
		t.Errorf("the right code then: %v", err)
	}
}
