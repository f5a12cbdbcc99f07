package record

import (
	"encoding/binary"

	"golang.org/x/crypto/blake2s"

	"evenhold/sync/clock"
)

// Digest returns a number that is equal for equal sets of operations. It is the sum of the
// operations' hashes, so a server can keep it up to date with AddDigest and never load a
// document to learn whether a phone has all of it. It guards against mistakes, not against an
// attacker who may choose operations freely; the hash chains do that.
func (d *Doc) Digest() [32]byte {
	if !d.isSummed {
		d.sum = d.base
		for _, log := range d.logs {
			for _, e := range log.entries {
				d.sum = AddDigest(d.sum, *e.op)
			}
		}
		d.isSummed = true
	}
	return d.sum
}

// AddDigest returns the digest of a set with op added to it. The digest of the empty set is
// all zero. The sum is taken over four big-endian words, each modulo 2 to the 64th.
func AddDigest(digest [32]byte, op Operation) [32]byte {
	hash := op.Hash()
	for i := 0; i < len(digest); i += 8 {
		sum := binary.BigEndian.Uint64(digest[i:]) + binary.BigEndian.Uint64(hash[i:])
		binary.BigEndian.PutUint64(digest[i:], sum)
	}
	return digest
}

// Proof returns 64 bits of a hash over how far a device's operations are known, seq, the chain
// value there and a server's epoch: two ends that agree on them get the same, and two that do not
// by no more than chance. It is no secret and proves nothing about who asks.
func Proof(chain [32]byte, device clock.Device, seq, epoch uint64) uint64 {
	b := append(make([]byte, 0, 64), chain[:]...)
	b = binary.BigEndian.AppendUint64(b, uint64(device))
	b = binary.BigEndian.AppendUint64(b, seq)
	b = binary.BigEndian.AppendUint64(b, epoch)
	hash := blake2s.Sum256(b)
	return binary.BigEndian.Uint64(hash[:])
}
