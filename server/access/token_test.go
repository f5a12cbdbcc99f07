package access

import (
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"errors"
	"maps"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"evenhold/server/store"
)

const issuer = "https://practice.example"

var (
	start  = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	member = store.Member{Device: 77, Person: store.Person{ID: "someone"}}
)

// clockAt is a clock that stands until it is set.
type clockAt struct{ now time.Time }

func (c *clockAt) read() time.Time { return c.now }

func newTokens(t *testing.T) (*Tokens, *clockAt) {
	t.Helper()
	secret := make([]byte, keyBytes)
	rand.Read(secret)
	c := &clockAt{start}
	return NewTokens(Key{secret: secret}, issuer, c.read), c
}

// good returns the claims of a token that is fine, to be spoiled one at a time.
func good() jwt.MapClaims {
	return jwt.MapClaims{
		"iss": issuer, "aud": accessKind.audience, "sub": member.Person.ID,
		"iat": start.Unix(), "exp": start.Add(time.Minute).Unix(), "device": member.Device.String(),
	}
}

func sign(t *testing.T, method jwt.SigningMethod, key any, typ string, c jwt.MapClaims) string {
	t.Helper()
	token := jwt.NewWithClaims(method, c)
	token.Header["typ"] = typ
	signed, err := token.SignedString(key)
	if err != nil {
		t.Fatal(err)
	}
	return signed
}

// TestTokens_Bad mints tokens that the library's defaults or a careless server take: "JSON Web
// Token Best Current Practices", RFC 8725, 2020, sections 2 and 3; "JSON Web Token", RFC 7519,
// 2015, section 4.1.
func TestTokens_Bad(t *testing.T) {
	tokens, _ := newTokens(t)
	with := func(name string, value any) jwt.MapClaims {
		c := maps.Clone(good())
		if value == nil {
			delete(c, name)
		} else {
			c[name] = value
		}
		return c
	}
	hs := func(c jwt.MapClaims) string {
		return sign(t, jwt.SigningMethodHS256, tokens.secret, accessKind.typ, c)
	}
	if id, device, err := tokens.CheckAccess(hs(good())); err != nil || id != "someone" ||
		device != 77 {
		t.Fatalf("the good token: %q, %v, %v", id, device, err)
	}
	tests := []struct{ name, token string }{
		{"empty", ""},
		{"algorithm none", sign(t, jwt.SigningMethodNone, jwt.UnsafeAllowNoneSignatureType,
			accessKind.typ, good())},
		{"another length of HMAC", sign(t, jwt.SigningMethodHS512, tokens.secret, accessKind.typ,
			good())},
		{"a public key taken for a shared one", sign(t, jwt.SigningMethodHS256, publicKey(t),
			accessKind.typ, good())},
		{"an empty key", sign(t, jwt.SigningMethodHS256, []byte{}, accessKind.typ, good())},
		{"algorithm in lower case", lowerAlgorithm(t, hs(good()))},
		{"no expiry", hs(with("exp", nil))},
		{"expiry zero", hs(with("exp", 0))},
		{"expired", hs(with("exp", start.Add(-2*time.Minute).Unix()))},
		{"issued in the future", hs(with("iat", start.Add(99*time.Hour).Unix()))},
		{"no issue time", hs(with("iat", nil))},
		{"not yet", hs(with("nbf", start.Add(time.Hour).Unix()))},
		{"for another audience", hs(with("aud", "elsewhere"))},
		{"for no audience", hs(with("aud", nil))},
		{"by another issuer", hs(with("iss", "https://other.example"))},
		{"by no issuer", hs(with("iss", nil))},
		{"for nobody", hs(with("sub", nil))},
		{"for no device", hs(with("device", nil))},
		{"for an impossible device", hs(with("device", "../../etc"))},
		{"of another type", sign(t, jwt.SigningMethodHS256, tokens.secret, "JWT", good())},
		{"a flipped bit", flip(hs(good()))},
		{"another spelling of the same signature", respell(hs(good()))},
		{"padding in the signature", hs(good()) + "="},
		{"four parts", hs(good()) + ".x"},
	}
	for _, tt := range tests {
		if _, _, err := tokens.CheckAccess(tt.token); !errors.Is(err, ErrToken) {
			t.Errorf("%s: %v, want %v", tt.name, err, ErrToken)
		}
	}
}

func publicKey(t *testing.T) []byte {
	t.Helper()
	pair, err := rsa.GenerateKey(rand.Reader, 2048)
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKIXPublicKey(&pair.PublicKey)
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der})
}

func lowerAlgorithm(t *testing.T, token string) string {
	t.Helper()
	parts := strings.Split(token, ".")
	header, err := base64.RawURLEncoding.DecodeString(parts[0])
	if err != nil || !strings.Contains(string(header), "HS256") {
		t.Fatal(err, string(header))
	}
	parts[0] = base64.RawURLEncoding.EncodeToString(
		[]byte(strings.Replace(string(header), "HS256", "hs256", 1)))
	return strings.Join(parts, ".")
}

func flip(token string) string {
	b := []byte(token)
	at := len(b) - 20
	if b[at] == 'A' {
		b[at] = 'B'
	} else {
		b[at] = 'A'
	}
	return string(b)
}

// respell changes the two bits of the last letter that carry nothing ("The Base16, Base32, and
// Base64 Data Encodings", RFC 4648, 2006, section 3.5): one token must have one spelling.
func respell(token string) string {
	const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
	last := len(token) - 1
	return token[:last] + string(letters[strings.IndexByte(letters, token[last])^1])
}

// TestTokens_Kinds tries every kind of token in the place of every other (RFC 8725, sections
// 3.11 and 3.12).
func TestTokens_Kinds(t *testing.T) {
	tokens, _ := newTokens(t)
	kinds := []kind{accessKind, ticketKind}
	for _, made := range kinds {
		for _, asked := range kinds {
			token, err := tokens.make(made, member, "id")
			if err != nil {
				t.Fatal(err)
			}
			if _, _, err := tokens.check(asked, token); (err == nil) != (made == asked) {
				t.Errorf("%s where %s is asked for: %v", made.typ, asked.typ, err)
			}
		}
	}
}

func TestTokens_Life(t *testing.T) {
	tokens, clock := newTokens(t)
	token, err := tokens.Access(member)
	if err != nil {
		t.Fatal(err)
	}
	for after, isGood := range map[time.Duration]bool{
		0: true, AccessLife: true, AccessLife + accessKind.leeway + time.Second: false,
		-accessKind.leeway: true, -accessKind.leeway - time.Second: false,
	} {
		clock.now = start.Add(after)
		if _, _, err := tokens.CheckAccess(token); (err == nil) != isGood {
			t.Errorf("%v after it was made: %v", after, err)
		}
	}
	if accessKind.leeway > time.Minute || accessKind.life > 15*time.Minute {
		t.Error("an access token outlives its promise")
	}
}

// TestTokens_ManyDots: a header of a megabyte of dots costs little (golang-jwt, CVE-2025-30204).
func TestTokens_ManyDots(t *testing.T) {
	tokens, _ := newTokens(t)
	dots := strings.Repeat(".", 1<<20)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if _, _, err := tokens.CheckAccess(dots); !errors.Is(err, ErrToken) {
		t.Error(err)
	}
	runtime.ReadMemStats(&after)
	if spent := after.TotalAlloc - before.TotalAlloc; spent > 5<<20 {
		t.Errorf("%d bytes allocated", spent)
	}
}

func TestTickets_OnceAndSoon(t *testing.T) {
	tokens, clock := newTokens(t)
	tickets := NewTickets(tokens)
	take := func(ticket string) error { _, _, err := tickets.Take(ticket); return err }
	a, err := tickets.Make(member)
	if err != nil {
		t.Fatal(err)
	}
	b, err := tickets.Make(member)
	if err != nil {
		t.Fatal(err)
	}
	if id, device, err := tickets.Take(a); err != nil || id != "someone" || device != 77 {
		t.Errorf("the first time: %q %v %v", id, device, err)
	}
	if err := take(a); !errors.Is(err, ErrToken) {
		t.Errorf("the second time: %v", err)
	}
	if _, _, err := NewTickets(tokens).Take(b); !errors.Is(err, ErrToken) {
		t.Errorf("after a restart: %v", err)
	}
	clock.now = start.Add(31 * time.Second)
	if err := take(b); !errors.Is(err, ErrToken) {
		t.Errorf("after half a minute: %v", err)
	}
	for range 3 {
		clock.now = clock.now.Add(time.Minute)
		if _, err := tickets.Make(member); err != nil {
			t.Fatal(err)
		}
	}
	if len(tickets.open) != 1 {
		t.Errorf("%d tickets are kept, want 1", len(tickets.open))
	}
}
