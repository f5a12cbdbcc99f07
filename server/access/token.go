package access

import (
	"errors"
	"fmt"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"evenhold/server/store"
	"evenhold/sync/clock"
)

// ErrToken says that a token is missing, over, or not one of ours for this use.
// Its wrapped cause is for the log.
var ErrToken = errors.New("not signed in")

// kind is what a token is for. Kinds differ in the header's type and in the
// audience, so that one is never taken for another: "JSON Web Token Best Current
// Practices", RFC 8725, 2020, sections 3.11 and 3.12.
type kind struct {
	typ, audience string
	life, leeway  time.Duration
}

var (
	accessKind = kind{"access+jwt", "evenhold-api", 15 * time.Minute, time.Minute}
	ticketKind = kind{"ticket+jwt", "evenhold-live", 30 * time.Second, 0}
)

// AccessLife is how long an access token is good for.
const AccessLife = 15 * time.Minute

// claims are all a token says. A person's role is looked up each time, so that
// a change holds at once.
type claims struct {
	jwt.RegisteredClaims
	Device string `json:"device"`
}

// Tokens makes and checks the short-lived tokens of one server.
type Tokens struct {
	secret []byte
	issuer string
	now    func() time.Time
}

// NewTokens returns the maker and checker of tokens. issuer is the server's public URL.
func NewTokens(key Key, issuer string, now func() time.Time) *Tokens {
	return &Tokens{secret: key.derive("token"), issuer: issuer, now: now}
}

// Access returns a token that lets m use the interface for AccessLife.
func (t *Tokens) Access(m store.Member) (string, error) { return t.make(accessKind, m, "") }

// CheckAccess returns the person and device an access token was made for, or ErrToken.
func (t *Tokens) CheckAccess(token string) (personID string, device clock.Device, err error) {
	c, device, err := t.check(accessKind, token)
	return c.Subject, device, err
}

func (t *Tokens) make(k kind, m store.Member, id string) (string, error) {
	now := t.now()
	token := jwt.NewWithClaims(jwt.SigningMethodHS256, claims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer: t.issuer, Audience: jwt.ClaimStrings{k.audience}, Subject: m.Person.ID, ID: id,
			IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(now.Add(k.life)),
		},
		Device: m.Device.String(),
	})
	token.Header["typ"] = k.typ
	signed, err := token.SignedString(t.secret)
	if err != nil {
		return "", fmt.Errorf("make %s: %w", k.typ, err)
	}
	return signed, nil
}

// check asks for everything by name, since the library's defaults accept a token
// without an expiry, of any audience, of any type and of any HMAC length.
func (t *Tokens) check(k kind, token string) (claims, clock.Device, error) {
	var c claims
	parsed, err := jwt.ParseWithClaims(token, &c, func(*jwt.Token) (any, error) {
		return t.secret, nil
	},
		jwt.WithValidMethods([]string{jwt.SigningMethodHS256.Alg()}),
		jwt.WithExpirationRequired(), jwt.WithIssuedAt(), jwt.WithIssuer(t.issuer),
		jwt.WithAudience(k.audience), jwt.WithLeeway(k.leeway), jwt.WithStrictDecoding(),
		jwt.WithTimeFunc(t.now))
	if err != nil {
		return claims{}, 0, fmt.Errorf("%w: %w", ErrToken, err)
	}
	if typ, _ := parsed.Header["typ"].(string); typ != k.typ {
		return claims{}, 0, fmt.Errorf("%w: type %q, want %q", ErrToken, typ, k.typ)
	}
	if c.IssuedAt == nil || c.Subject == "" {
		return claims{}, 0, fmt.Errorf("%w: iat or sub is missing", ErrToken)
	}
	device, err := clock.ParseDevice(c.Device)
	if err != nil {
		return claims{}, 0, fmt.Errorf("%w: %w", ErrToken, err)
	}
	return c, device, nil
}
