package access

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	crand "crypto/rand"
	"crypto/sha256"
	"errors"
	"flag"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

var lostRuns = flag.Int("access.runs", 60, "how many phones lose answers")

// browser is a phone's cookie and, perhaps, its key.
type browser struct {
	t         testing.TB
	secrets   *Secrets
	cookie    string
	challenge string
	key       *ecdsa.PrivateKey
}

func newKeyPair(t testing.TB) *ecdsa.PrivateKey {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), crand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// proof signs as "Web Cryptography API", W3C, section 23 (ECDSA), has it: r and s, 32 bytes each.
func proof(t testing.TB, key *ecdsa.PrivateKey, challenge string) Proof {
	t.Helper()
	if key == nil {
		return Proof{}
	}
	hash := sha256.Sum256([]byte("evenhold refresh " + challenge))
	r, s, err := ecdsa.Sign(crand.Reader, key, hash[:])
	if err != nil {
		t.Fatal(err)
	}
	public, err := key.PublicKey.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	signature := append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...)
	return Proof{Key: public, Signature: signature}
}

// enter lets a device of the owner in with a key, nil for none.
func enter(t testing.TB, d *Desk, owner store.Member, device clock.Device,
	key *ecdsa.PrivateKey) *browser {
	t.Helper()
	secret, hash := NewSecret()
	j := store.Joining{Device: device, SecretHash: hash, Key: proof(t, key, "").Key}
	if err := d.store.Renew(owner, j, d.now().UnixMilli()); err != nil {
		t.Fatal(err)
	}
	return &browser{t: t, secrets: NewSecrets(d.store, d.key, d.now), cookie: secret, key: key}
}

// refresh asks as the app does: again with a signature where one is asked for.
func (b *browser) refresh() (Refreshed, error) {
	got, err := b.secrets.Refresh(b.t.Context(), b.cookie, proof(b.t, b.key, b.challenge))
	if asked := (Challenged{}); errors.As(err, &asked) {
		b.challenge = asked.Challenge
		got, err = b.secrets.Refresh(b.t.Context(), b.cookie, proof(b.t, b.key, b.challenge))
	}
	return got, err
}

// TestSecrets_LostAnswers: phones whose requests, answers and reloads get lost at random, in
// part after the cookie was kept, are never signed out: rotation is right only if "retrying the
// request (with the previous refresh token) will succeed" (FAPI 2.0 Security Profile, OpenID
// Foundation, 2025). -access.runs 1000 is the long run.
func TestSecrets_LostAnswers(t *testing.T) {
	d, at := newDesk(t)
	owner := claim(t, d)
	lost := 0
	for seed := range *lostRuns {
		dice := rand.New(rand.NewPCG(uint64(seed), 1))
		b := enter(t, d, owner, clock.Device(1000+seed), nil)
		if seed%2 == 0 {
			b.key = newKeyPair(t)
		}
		var held []string // cookies of requests that the network still holds back
		for range 12 {
			at.now = at.now.Add(time.Duration(dice.IntN(20)) * time.Second)
			if len(held) > 0 && dice.IntN(2) == 0 {
				late := &browser{t: t, secrets: b.secrets, cookie: held[0], key: b.key}
				held = nil
				if _, err := late.refresh(); errors.Is(err, store.ErrEnded) {
					t.Fatalf("seed %d: a request held back signed the phone out", seed)
				}
			}
			fate := dice.IntN(6)
			if fate == 0 {
				held = []string{b.cookie}
				continue // it went out, and is not there yet
			}
			got, err := b.refresh()
			if err != nil {
				t.Fatalf("seed %d: signed out: %v", seed, err)
			}
			if fate > 2 {
				b.cookie = got.Secret
			} else {
				lost++
			}
			b.challenge = ""
			if fate == 5 {
				b.challenge = got.Challenge
			}
			if fate > 2 {
				held = nil // an older one is not held back for longer than the next takes
			}
		}
	}
	if lost < *lostRuns {
		t.Errorf("only %d answers were lost: the play was too tame", lost)
	}
}

// TestSecrets_Replay: a secret whose successor was used ends them all, at once and on record:
// "Best Current Practice for OAuth 2.0 Security", RFC 9700, 2025, section 4.14.2.
func TestSecrets_Replay(t *testing.T) {
	d, at := newDesk(t)
	owner := claim(t, d)
	b := enter(t, d, owner, 7, newKeyPair(t))
	stolen := *b
	for range 3 {
		got, err := b.refresh()
		if err != nil {
			t.Fatal(err)
		}
		b.cookie = got.Secret
		at.now = at.now.Add(15 * time.Minute)
	}
	if _, err := stolen.refresh(); !errors.Is(err, store.ErrEnded) {
		t.Errorf("the old secret: %v, want %v", err, store.ErrEnded)
	}
	if _, err := b.refresh(); !errors.Is(err, store.ErrEnded) {
		t.Errorf("the newest one then: %v, want %v", err, store.ErrEnded)
	}
	if _, err := d.store.MemberByDevice(t.Context(), 7); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("tokens then: %v, want %v", err, store.ErrNotFound)
	}
	if faults, err := d.store.Check(t.Context()); err != nil || len(faults) > 0 {
		t.Errorf("the practice file: %v, %v", faults, err)
	}
}

// TestSecrets_CopiedCookie: without the phone's key the newest secret is of no use, and trying
// takes nothing from the phone.
func TestSecrets_CopiedCookie(t *testing.T) {
	d, _ := newDesk(t)
	owner := claim(t, d)
	b := enter(t, d, owner, 7, newKeyPair(t))
	for name, key := range map[string]*ecdsa.PrivateKey{"no key": nil, "another key": newKeyPair(t)} {
		thief := *b
		thief.key = key
		if _, err := thief.refresh(); !errors.Is(err, ErrChallenge) {
			t.Errorf("%s: %v, want %v", name, err, ErrChallenge)
		}
	}
	if _, err := b.refresh(); err != nil {
		t.Errorf("the phone itself: %v", err)
	}
}

// TestSecrets_KeyIsSaidOnce: a phone from before keys says one with its next use; from then on
// it is asked for, and no other is taken.
func TestSecrets_KeyIsSaidOnce(t *testing.T) {
	d, _ := newDesk(t)
	owner := claim(t, d)
	b := enter(t, d, owner, 7, nil)
	got, err := b.refresh()
	if err != nil {
		t.Fatalf("without a key: %v", err)
	}
	b.cookie, b.key = got.Secret, newKeyPair(t)
	if _, err := b.refresh(); err != nil {
		t.Fatalf("saying one: %v", err)
	}
	for _, key := range []*ecdsa.PrivateKey{nil, newKeyPair(t)} {
		other := *b
		other.key = key
		if _, err := other.refresh(); !errors.Is(err, ErrChallenge) {
			t.Errorf("key %t: %v, want %v", key != nil, err, ErrChallenge)
		}
	}
}

// TestSecrets_MadeUp: what is no secret of a device is told nothing, whatever it names.
func TestSecrets_MadeUp(t *testing.T) {
	d, _ := newDesk(t)
	owner := claim(t, d)
	b := enter(t, d, owner, 7, nil)
	got, err := b.refresh()
	if err != nil {
		t.Fatal(err)
	}
	other := enter(t, d, owner, 8, nil)
	next, err := other.refresh()
	if err != nil {
		t.Fatal(err)
	}
	flipped := []byte(got.Secret)
	flipped[len(flipped)/2] ^= 1
	bad := []string{"", "x", strings.Repeat("A", 64), got.Secret + "A", got.Secret[:63],
		string(flipped), got.Secret[:22] + next.Secret[22:]}
	for _, secret := range bad {
		if _, err := b.secrets.Refresh(t.Context(), secret, Proof{}); !errors.Is(err, ErrToken) {
			t.Errorf("%q: %v, want %v", secret, err, ErrToken)
		}
	}
}

// TestSecrets_ServerSetBack: a server that was set back to an older file takes the secrets that
// it gave afterwards, so that a restored backup signs nobody out.
func TestSecrets_ServerSetBack(t *testing.T) {
	d, _ := newDesk(t)
	owner := claim(t, d)
	b := enter(t, d, owner, 7, nil)
	c, err := d.store.CredentialOf(t.Context(), 7)
	if err != nil {
		t.Fatal(err)
	}
	b.cookie = b.secrets.derive(c, 40) // as given by the server that was lost
	got, err := b.refresh()
	if err != nil {
		t.Fatal(err)
	}
	b.cookie = got.Secret
	if _, err := b.refresh(); err != nil {
		t.Errorf("the next: %v", err)
	}
}

// TestJoin_AgainOnTheSamePhone: a phone whose secrets were ended comes back by an invitation of
// its own person, and keeps its identity and so what it has not sent. Nobody else's does that.
func TestJoin_AgainOnTheSamePhone(t *testing.T) {
	d, at := newDesk(t)
	owner := claim(t, d)
	doc := record.ID{Device: 1, Seq: 5}
	invite := func(doc record.ID) Code {
		code, _, err := d.Invite(owner, Guest{Role: "client", Name: "Alex Example", Doc: doc})
		if err != nil {
			t.Fatal(err)
		}
		return code
	}
	first := joining(7)
	if _, err := letIn(d, owner, invite(doc), first); err != nil {
		t.Fatal(err)
	}
	at.now = at.now.Add(time.Hour)
	if err := d.store.Advance(7, 3, nil, at.now.UnixMilli()); err != nil {
		t.Fatal(err)
	}
	if err := d.store.Advance(7, 1, nil, at.now.UnixMilli()); !errors.Is(err, store.ErrEnded) {
		t.Fatalf("a replay: %v", err)
	}
	again := joining(7)
	again.SecretHash = [32]byte{99}
	_, err := letIn(d, owner, invite(record.ID{Device: 1, Seq: 6}), again)
	if !errors.Is(err, store.ErrTaken) {
		t.Errorf("by another person's invitation: %v, want %v", err, store.ErrTaken)
	}
	m, err := letIn(d, owner, invite(doc), again)
	if err != nil || m.Device != 7 {
		t.Fatalf("by its own: %+v, %v", m, err)
	}
	if _, err := d.store.MemberByDevice(t.Context(), 7); err != nil {
		t.Errorf("then: %v", err)
	}
}
