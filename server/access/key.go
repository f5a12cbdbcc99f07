package access

import (
	"bytes"
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"evenhold/server/durable"
)

// keyBytes is the length of a key: 256 bits, the size of the hash it is used
// with ("Using HMAC-SHA-256 …", RFC 7518, 2015, section 3.2).
const keyBytes = 32

// ErrKey says that a key file cannot be a key.
var ErrKey = errors.New("the key file is not a key")

// Key is the server's own secret. Different uses get different keys made from it.
type Key struct{ secret []byte }

// OpenKey reads the key file at path and makes one with fresh random bytes,
// readable by this user only, if there is none.
//
// It returns ErrKey for a file that is too short, repeats itself or can be read by others.
func OpenKey(path string) (Key, error) {
	secret, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return makeKey(path)
	}
	if err != nil {
		return Key{}, fmt.Errorf("open key: %w", err)
	}
	info, err := os.Stat(path)
	if err != nil {
		return Key{}, fmt.Errorf("open key: %w", err)
	}
	if info.Mode().Perm()&0o077 != 0 {
		return Key{}, fmt.Errorf("%w: other users of this machine can read %s; run chmod 600 on it",
			ErrKey, path)
	}
	return newKey(secret)
}

func newKey(secret []byte) (Key, error) {
	if len(secret) < keyBytes {
		return Key{}, fmt.Errorf("%w: it has %d bytes, at least %d are needed; restore it from"+
			" a backup, or remove it and every phone must be invited again",
			ErrKey, len(secret), keyBytes)
	}
	// Random bytes of this length hold far more than 16 different values; words,
	// hexadecimal placeholders and runs of zeros do not.
	if distinct(secret) < 16 || isText(secret) {
		return Key{}, fmt.Errorf("%w: it is not random; remove it and a new one is made", ErrKey)
	}
	return Key{secret: secret}, nil
}

func distinct(b []byte) int {
	var seen [256]bool
	count := 0
	for _, c := range b {
		if !seen[c] {
			seen[c] = true
			count++
		}
	}
	return count
}

// isText reports whether b could have been typed: 32 random bytes are all
// printable once in 10^13 times.
func isText(b []byte) bool {
	return bytes.IndexFunc(b, func(r rune) bool { return (r < ' ' || r > '~') && r != '\n' }) < 0
}

// makeKey writes the file so that a power cut leaves either no key or the whole of it.
func makeKey(path string) (Key, error) {
	secret := make([]byte, keyBytes)
	rand.Read(secret) // never fails: the program ends if the system has no randomness
	if err := durable.Write(path, secret); err != nil {
		return Key{}, fmt.Errorf("make key: %w", err)
	}
	return newKey(secret)
}

// derive returns the key for one use: HKDF with SHA-256 (RFC 5869, 2010).
func (k Key) derive(use string) []byte {
	derived, err := hkdf.Key(sha256.New, k.secret, nil, use, keyBytes)
	if err != nil {
		panic("access: derive " + use + ": " + err.Error())
	}
	return derived
}
