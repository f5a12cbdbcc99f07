package access

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"strings"
)

// alphabet has no vowels, so that no code spells a word, and no letter that is
// taken for a digit: "OAuth 2.0 Device Authorization Grant", RFC 8628, 2019, section 6.1.
const alphabet = "BCDFGHJKLMNPQRSTVWXZ"

// A code is a handle, by which the server finds the invitation, and a secret:
// eight letters of twenty are 34.5 bits (RFC 8628, section 6.1), enough for five tries.
const (
	handleLetters = 4
	secretLetters = 8
	groupLetters  = 4

	// A recovery code waits for years, so nobody may ever guess it: 28 letters are 121 bits, more
	// than the 112 that "Application Security Verification Standard", OWASP, 5.0, 2025, asks for.
	recoveryLetters = 28
)

// ErrCode says that a text is not shaped like an invitation code.
var ErrCode = errors.New("not an invitation code")

// Code is the one-use code of an invitation, or a recovery code.
type Code struct{ handle, secret string }

// NewCode returns a random code.
func NewCode() Code {
	return Code{handle: randomLetters(handleLetters), secret: randomLetters(secretLetters)}
}

// NewRecoveryCode returns a random code of the length for recovery.
func NewRecoveryCode() Code {
	return Code{handle: randomLetters(handleLetters), secret: randomLetters(recoveryLetters)}
}

func randomLetters(n int) string {
	letters := make([]byte, 0, n)
	var b [1]byte
	for len(letters) < n {
		rand.Read(b[:])
		// 240 is the largest multiple of 20 in a byte: every letter is equally likely.
		if b[0] < 240 {
			letters = append(letters, alphabet[int(b[0])%len(alphabet)])
		}
	}
	return string(letters)
}

// ParseCode reads a code of either length as a person types or pastes it: in any case, with or
// without spaces and hyphens. It returns ErrCode for any other text.
func ParseCode(text string) (Code, error) {
	letters := make([]byte, 0, handleLetters+recoveryLetters)
	for i := range len(text) {
		c := text[i]
		if c == ' ' || c == '-' {
			continue
		}
		if c >= 'a' && c <= 'z' {
			c -= 'a' - 'A'
		}
		if strings.IndexByte(alphabet, c) < 0 || len(letters) == cap(letters) {
			return Code{}, ErrCode
		}
		letters = append(letters, c)
	}
	if len(letters) != handleLetters+secretLetters && len(letters) < cap(letters) {
		return Code{}, ErrCode
	}
	return Code{string(letters[:handleLetters]), string(letters[handleLetters:])}, nil
}

// String returns the code in groups of four letters with hyphens between them.
func (c Code) String() string {
	all := c.handle + c.secret
	var groups []string
	for at := 0; at < len(all); at += groupLetters {
		groups = append(groups, all[at:min(at+groupLetters, len(all))])
	}
	return strings.Join(groups, "-")
}

// mac is what the server keeps of a code: 34.5 bits alone could be searched
// through in seconds by someone who took the practice file but not the key.
func (k Key) mac(c Code) []byte {
	h := hmac.New(sha256.New, k.derive("invitation"))
	h.Write([]byte(c.handle + c.secret))
	return h.Sum(nil)
}
