package access

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"time"

	"evenhold/server/store"
	"evenhold/sync/clock"
)

// secretBytes is the length of the first secret of a device: 256 bits.
const secretBytes = 32

// A later secret is a device, a number and a MAC over both.
const derivedBytes = 8 + 8 + sha256.Size

// NewSecret returns the first secret of a device, which the phone keeps in its cookie, as
// text, and the hash under which the server knows it.
//
// A plain hash is enough: 256 random bits cannot be guessed from it.
func NewSecret() (secret string, hash [32]byte) {
	var b [secretBytes]byte
	rand.Read(b[:])
	secret = base64.RawURLEncoding.EncodeToString(b[:])
	return secret, HashSecret(secret)
}

// HashSecret returns the hash under which the server knows the first secret of a device.
func HashSecret(secret string) [32]byte { return sha256.Sum256([]byte(secret)) }

// Secrets takes the secrets of phones and gives the next ones: each is used up by the use
// of its successor. It is safe for concurrent use.
//
// The secrets of one device are numbered, and all but the first are derived from the
// server's key, so that a phone whose answer was lost is given the very same one again,
// one that was used up long ago is still known for what it is, and a server that was
// set back to a backup still knows those that it gave afterwards.
type Secrets struct {
	store *store.Store
	key   Key
	now   func() time.Time
}

// NewSecrets returns the keeper of the secrets of a practice's devices.
func NewSecrets(s *store.Store, key Key, now func() time.Time) *Secrets {
	return &Secrets{store: s, key: key, now: now}
}

// Refreshed is what a phone is given for a secret.
type Refreshed struct {
	store.Member
	Secret    string // the next one
	Challenge string // what its key signs with the next one
}

// Holder returns whose secret it is, and leaves it as it was. Errors: ErrToken for what is
// no secret of a device, store.ErrEnded, ErrRevoked and ErrWipe for one that is out.
func (s *Secrets) Holder(ctx context.Context, secret string) (store.Member, error) {
	c, _, err := s.find(ctx, secret)
	if errors.Is(err, store.ErrWipe) {
		return c.Member, errors.Join(err, s.store.Told(c.Device, s.now().UnixMilli()))
	}
	return c.Member, unknownAsToken(err)
}

// Refresh takes a secret, with a proof that the phone holds its key, and gives the next.
//
// Errors: those of Holder, and Challenged where a proof is asked for. With store.ErrEnded
// the member is returned, too.
func (s *Secrets) Refresh(ctx context.Context, secret string, p Proof) (Refreshed, error) {
	c, number, err := s.find(ctx, secret)
	if err != nil {
		return Refreshed{Member: c.Member}, unknownAsToken(err)
	}
	// What was used up says that it was copied, whoever holds the key.
	if challenge := s.challenge(c, number); number >= c.Used && !p.holds(c.PublicKey, challenge) {
		return Refreshed{}, Challenged{challenge}
	}
	if err := s.store.Advance(c.Device, number, p.Key, s.now().UnixMilli()); err != nil {
		return Refreshed{Member: c.Member}, unknownAsToken(err)
	}
	return Refreshed{
		Member: c.Member, Secret: s.derive(c, number+1), Challenge: s.challenge(c, number+1),
	}, nil
}

func unknownAsToken(err error) error {
	if errors.Is(err, store.ErrNotFound) {
		return ErrToken
	}
	return err
}

// find returns whose secret it is and its number. The first ones are looked up by their
// hash; a later one names its device and is believed only with its MAC.
func (s *Secrets) find(ctx context.Context, secret string) (store.Credential, uint64, error) {
	b, err := base64.RawURLEncoding.DecodeString(secret)
	switch {
	case err != nil:
		return store.Credential{}, 0, ErrToken
	case len(b) == secretBytes:
		c, err := s.store.CredentialByFirst(ctx, HashSecret(secret))
		return c, 0, err
	case len(b) != derivedBytes:
		return store.Credential{}, 0, ErrToken
	}
	device, number := clock.Device(binary.BigEndian.Uint64(b)), binary.BigEndian.Uint64(b[8:])
	c, err := s.store.CredentialOf(ctx, device)
	if c.Device == 0 {
		return c, 0, err
	}
	if number == 0 || number > maxNumber || !hmac.Equal([]byte(secret), []byte(s.derive(c, number))) {
		return store.Credential{}, 0, ErrToken
	}
	return c, number, err
}

// maxNumber keeps the numbers of secrets within what the practice file holds.
const maxNumber = 1 << 62

func (s *Secrets) derive(c store.Credential, number uint64) string {
	b := binary.BigEndian.AppendUint64(nil, uint64(c.Device))
	b = binary.BigEndian.AppendUint64(b, number)
	return base64.RawURLEncoding.EncodeToString(append(b, s.mac("device secret", c, number)...))
}

// challenge is fresh for each secret and needs no clock: a signature that was overheard
// is of no use once the next secret was used.
func (s *Secrets) challenge(c store.Credential, number uint64) string {
	return base64.RawURLEncoding.EncodeToString(s.mac("challenge", c, number)[:16])
}

func (s *Secrets) mac(use string, c store.Credential, number uint64) []byte {
	h := hmac.New(sha256.New, s.key.derive(use))
	h.Write(c.Salt)
	h.Write(binary.BigEndian.AppendUint64(nil, uint64(c.Device)))
	h.Write(binary.BigEndian.AppendUint64(nil, number))
	return h.Sum(nil)
}
