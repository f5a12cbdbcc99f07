package access

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
)

// secretBytes is the length of a device secret: 256 bits.
const secretBytes = 32

// NewSecret returns the secret that a phone keeps in its cookie, as text, and
// the hash under which the server knows it.
//
// A plain hash is enough: 256 random bits cannot be guessed from it.
func NewSecret() (secret string, hash [32]byte) {
	var b [secretBytes]byte
	rand.Read(b[:])
	secret = base64.RawURLEncoding.EncodeToString(b[:])
	return secret, HashSecret(secret)
}

// HashSecret returns the hash under which the server knows a device secret.
func HashSecret(secret string) [32]byte { return sha256.Sum256([]byte(secret)) }
