package access

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/netip"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

func newDesk(t *testing.T) (*Desk, *clockAt) {
	t.Helper()
	folder := t.TempDir()
	s, err := store.Open(filepath.Join(folder, "practice.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	key, err := OpenKey(filepath.Join(folder, "key"))
	if err != nil {
		t.Fatal(err)
	}
	c := &clockAt{start}
	return NewDesk(s, key, c.read), c
}

func claim(t *testing.T, d *Desk) store.Member {
	t.Helper()
	code, isNew, err := d.SetUp(context.Background())
	if err != nil || !isNew {
		t.Fatal(isNew, err)
	}
	m, err := d.Join("192.0.2.1", code.String(), joining(1))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestDesk_CodeLife: a code made on a phone is good for ten minutes and needs a tap ("Application
// Security Verification Standard", OWASP, 5.0, 2025, 6.5.5); one made on the server has a day.
func TestDesk_CodeLife(t *testing.T) {
	d, clock := newDesk(t)
	owner := claim(t, d)
	guest := Guest{Role: sessions.Coach, Name: "Kim Example"}
	for _, tt := range []struct {
		name     string
		by       store.Member
		life     time.Duration
		needsTap bool
	}{
		{"on a phone", owner, 10 * time.Minute, true},
		{"on the server", store.Member{Person: owner.Person}, 24 * time.Hour, false},
	} {
		code, ends, err := d.Invite(tt.by, guest)
		if err != nil || !ends.Equal(clock.now.Add(tt.life)) {
			t.Errorf("%s: good until %v, %v", tt.name, ends, err)
		}
		inv, err := d.Look("192.0.2.1", code.String())
		if err != nil || inv.NeedsTap != tt.needsTap {
			t.Errorf("%s: needs a tap %v, %v", tt.name, inv.NeedsTap, err)
		}
		clock.now = clock.now.Add(tt.life)
		if _, err := d.Look("192.0.2.1", code.String()); !errors.Is(err, store.ErrExpired) {
			t.Errorf("%s: after its time %v", tt.name, err)
		}
	}
}

// letIn has a phone knock, the one that invited it tap, and the phone come in.
func letIn(d *Desk, host store.Member, code Code, j store.Joining) (store.Member, error) {
	_, err := d.Join("192.0.2.1", code.String(), j)
	var waits store.Waits
	if !errors.As(err, &waits) {
		return store.Member{}, fmt.Errorf("a knock: %w", err)
	}
	if err := d.store.AnswerKnock(host, waits.Handle, true, d.now().UnixMilli()); err != nil {
		return store.Member{}, err
	}
	return d.Join("192.0.2.1", code.String(), j)
}

func joining(device clock.Device) store.Joining {
	return store.Joining{Device: device, SecretHash: [32]byte{byte(device)}, Name: "Robin Example",
		Practice: "Example Practice"}
}

func TestDesk_SetUp(t *testing.T) {
	d, clock := newDesk(t)
	old, _, err := d.SetUp(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	late, _, err := d.SetUp(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.Look("192.0.2.1", old.String()); !errors.Is(err, store.ErrWrongCode) {
		t.Errorf("the link of an earlier start: %v, want %v", err, store.ErrWrongCode)
	}
	clock.now = start.Add(ConsoleLife)
	if _, err := d.Look("192.0.2.1", late.String()); !errors.Is(err, store.ErrExpired) {
		t.Errorf("a day later: %v, want %v", err, store.ErrExpired)
	}
	if m := claim(t, d); m.Person.Role != sessions.Owner {
		t.Errorf("claimed as %s", m.Person.Role)
	}
	if _, isNew, err := d.SetUp(t.Context()); err != nil || isNew {
		t.Errorf("a practice with an owner offers set-up (%v)", err)
	}
}

func TestDesk_WhoMayInviteWhom(t *testing.T) {
	d, _ := newDesk(t)
	owner := claim(t, d)
	roles := []sessions.Role{sessions.Owner, sessions.Coach, sessions.Assistant, sessions.ClientOf}
	may := map[[2]sessions.Role]bool{
		{sessions.Owner, sessions.Coach}: true, {sessions.Owner, sessions.Assistant}: true,
		{sessions.Owner, sessions.ClientOf}: true, {sessions.Coach, sessions.ClientOf}: true,
	}
	doc := record.ID{Device: 1, Seq: 2}
	for _, by := range roles {
		for _, guest := range append(roles, "", "admin") {
			m := owner
			m.Person.Role = by
			g := Guest{Role: guest, Name: "Kim Example"}
			if guest == sessions.ClientOf {
				g.Doc = doc
			}
			_, _, err := d.Invite(m, g)
			if may[[2]sessions.Role{by, guest}] != (err == nil) {
				t.Errorf("%s invites %q: %v", by, guest, err)
			}
		}
	}
	for _, g := range []Guest{{Role: sessions.ClientOf}, {Role: sessions.Coach, Doc: doc}} {
		if _, _, err := d.Invite(owner, g); !errors.Is(err, ErrInvitation) {
			t.Errorf("%+v: %v, want %v", g, err, ErrInvitation)
		}
	}
}

// TestDesk_Guessing sends random codes at a live invitation from one address: no hit, most are
// turned away unheard, and five that know the handle kill it. Others are not slowed down.
func TestDesk_Guessing(t *testing.T) {
	d, clock := newDesk(t)
	owner := claim(t, d)
	live, _, err := d.Invite(owner, Guest{Role: sessions.Coach, Name: "Kim Example"})
	if err != nil {
		t.Fatal(err)
	}
	dice := rand.New(rand.NewPCG(5, 6))
	guess := func(handle string) string {
		var b strings.Builder
		b.WriteString(handle)
		for b.Len() < handleLetters+secretLetters {
			b.WriteByte(alphabet[dice.IntN(len(alphabet))])
		}
		return b.String()
	}
	slowed := 0
	for range 100_000 {
		_, err := d.Look("192.0.2.66", guess(""))
		switch {
		case err == nil:
			t.Fatal("a random code let somebody look")
		case errors.Is(err, ErrSlow):
			slowed++
		}
	}
	if slowed != 100_000-wrongBurst {
		t.Errorf("%d of 100000 guesses were slowed down, want all but %d", slowed, wrongBurst)
	}
	if _, err := d.Look("192.0.2.67", live.String()); err != nil {
		t.Errorf("another address: %v", err)
	}
	clock.now = clock.now.Add(time.Hour)
	for try := range 5 {
		_, err := d.Look("192.0.2.66", guess(live.handle))
		want := store.ErrWrongCode
		if try == 4 {
			want = store.ErrLocked
		}
		if !errors.Is(err, want) {
			t.Errorf("guess %d at the handle: %v, want %v", try+1, err, want)
		}
	}
	if _, err := d.Join("192.0.2.67", live.String(), joining(2)); !errors.Is(err, store.ErrLocked) {
		t.Errorf("the right code then: %v, want %v", err, store.ErrLocked)
	}
}

// TestDesk_RightCodesAreFree: a class behind one address joins at once.
func TestDesk_RightCodesAreFree(t *testing.T) {
	d, _ := newDesk(t)
	owner := claim(t, d)
	for i := range clock.Device(40) {
		code, _, err := d.Invite(owner, Guest{Role: sessions.Assistant, Name: "Kim Example"})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := d.Look("192.0.2.1", code.String()); err != nil {
			t.Fatalf("look %d: %v", i, err)
		}
		if _, err := letIn(d, owner, code, joining(i+10)); err != nil {
			t.Fatalf("join %d: %v", i, err)
		}
	}
}

// TestGate_Addresses: one household of IPv6 counts as one; memory stays bounded.
func TestGate_Addresses(t *testing.T) {
	c := &clockAt{start}
	g := newGate(c.read)
	wrong := func() error { return store.ErrWrongCode }
	for i := range wrongBurst {
		if err := g.pass("2001:db8::"+string(rune('1'+i%9)), wrong); errors.Is(err, ErrSlow) {
			t.Fatal("slowed down too soon")
		}
	}
	if err := g.pass("2001:db8::ffff", wrong); !errors.Is(err, ErrSlow) {
		t.Errorf("the same household: %v, want %v", err, ErrSlow)
	}
	if err := g.pass("2001:db8:0:1::1", wrong); errors.Is(err, ErrSlow) {
		t.Error("the next household is slowed down")
	}
	for i := range 2 * gateSize {
		_ = g.pass(netipOf(i), wrong) // whatever it says
	}
	if len(g.tries) > gateSize+1 {
		t.Errorf("%d addresses are remembered", len(g.tries))
	}
	c.now = c.now.Add(time.Hour)
	if err := g.pass("198.51.100.1", wrong); errors.Is(err, ErrSlow) || len(g.tries) > 2 {
		t.Errorf("an hour later %d addresses are remembered (%v)", len(g.tries), err)
	}
}

func netipOf(i int) string {
	return netip.AddrFrom4([4]byte{10, byte(i >> 16), byte(i >> 8), byte(i)}).String()
}
