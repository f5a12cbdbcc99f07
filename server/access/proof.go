package access

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"errors"
	"math/big"
)

// ErrChallenge says that a phone has to show that it holds its key.
var ErrChallenge = errors.New("the phone's key has to sign")

// ErrPublicKey says that bytes are no public key of a phone.
var ErrPublicKey = errors.New("not a public key")

// Challenged is ErrChallenge with what is to be signed.
type Challenged struct{ Challenge string }

func (c Challenged) Error() string { return ErrChallenge.Error() }
func (c Challenged) Unwrap() error { return ErrChallenge }

// Proof is what a phone shows beside its secret: that it also holds a key which its
// browser lets nobody copy. A browser that keeps no keys shows the zero value.
type Proof struct {
	Key       []byte // the public key, a point of the curve P-256 of 65 bytes
	Signature []byte // over SignedText(challenge), r and s of 32 bytes each
}

// SignedText is what a phone signs for a challenge. The words in front keep the signature
// from being one of anything else.
func SignedText(challenge string) string { return "evenhold refresh " + challenge }

// holds reports whether p is good enough for a device of which known is the public key.
// A device of which none is known may go without, or say one and prove it.
func (p Proof) holds(known []byte, challenge string) bool {
	if known == nil {
		if len(p.Key) == 0 {
			return true
		}
		known = p.Key
	}
	key, err := parsePublicKey(known)
	if err != nil || len(p.Signature) != 64 {
		return false
	}
	hash := sha256.Sum256([]byte(SignedText(challenge)))
	r, s := new(big.Int).SetBytes(p.Signature[:32]), new(big.Int).SetBytes(p.Signature[32:])
	return ecdsa.Verify(key, hash[:], r, s)
}

// parsePublicKey reads a point as "SEC 1: Elliptic Curve Cryptography", version 2.0, 2009,
// section 2.3.3 writes it uncompressed.
func parsePublicKey(b []byte) (*ecdsa.PublicKey, error) {
	key, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), b)
	if err != nil {
		return nil, ErrPublicKey
	}
	return key, nil
}

// CheckKey returns ErrPublicKey unless b is empty or a public key.
func CheckKey(b []byte) error {
	if len(b) == 0 {
		return nil
	}
	_, err := parsePublicKey(b)
	return err
}
