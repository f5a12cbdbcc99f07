package wire

import (
	"math"
	"math/bits"
	"testing"

	"pgregory.net/rapid"
)

// TestCoder_W1_RoundTrip sends bits of every likelihood, plain bits and numbers of every length.
func TestCoder_W1_RoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bit := rapid.SliceOf(rapid.Uint32Range(0, 1)).Draw(t, "bits")
		plain := rapid.SliceOf(rapid.Uint32Range(0, 1<<16-1)).Draw(t, "plain")
		number := rapid.SliceOf(rapid.Custom(func(t *rapid.T) uint64 {
			return rapid.Uint64().Draw(t, "v") >> rapid.IntRange(0, 63).Draw(t, "shift")
		})).Draw(t, "numbers")
		e := newEncoder()
		var c, d chance
		var m, n numbers
		for _, v := range bit {
			e.bit(&c, v)
		}
		for _, v := range plain {
			e.plain(v, 16)
		}
		for _, v := range number {
			e.number(&m, v)
		}
		r := newDecoder(e.end())
		for i, want := range bit {
			if got := r.bit(&d); got != want {
				t.Fatalf("bit %d is %d, want %d", i, got, want)
			}
		}
		for i, want := range plain {
			if got := r.plain(16); got != want {
				t.Fatalf("plain %d is %d, want %d", i, got, want)
			}
		}
		for i, want := range number {
			if got := r.number(&n); got != want {
				t.Fatalf("number %d is %d, want %d", i, got, want)
			}
		}
		if !r.isWhole() {
			t.Fatalf("read %d of %d bytes", r.at, len(r.in))
		}
	})
}

// TestCoder_W9_NearEntropy holds the coder to the least that bits of a known likelihood can take:
// the entropy of "A Mathematical Theory of Communication", Bell System Technical Journal, 1948,
// doi:10.1002/j.1538-7305.1948.tb01338.x. A chance that never stops learning, by a step of
// 1/s, is off by a variance of p(1-p)/(2s), which costs 1/(4s ln 2) bits for each bit; twice that
// and 16 bytes for the start are allowed. Staying below by more than chance allows is wrong too.
func TestCoder_W9_NearEntropy(t *testing.T) {
	const n = 50_000
	for _, ones := range []uint32{1, 16, 64, 128} { // of 256
		e, state := newEncoder(), uint32(1)
		var c chance
		for range n {
			state = state*1664525 + 1013904223 // a plain linear generator; from memory
			var bit uint32
			if state>>24 < ones {
				bit = 1
			}
			e.bit(&c, bit)
		}
		p := float64(ones) / 256
		least := n / 8 * (-p*math.Log2(p) - (1-p)*math.Log2(1-p))
		got := float64(len(e.end()))
		learning := n / 8 / (4 * slowestStep * math.Ln2)
		if got > least+2*learning+16 || got < least*0.93 {
			t.Errorf("%d of 256: %.0f bytes, the entropy is %.0f", ones, got, least)
		}
	}
}

// TestCoder_W2_NoSuchNumber reads a length that no number of 64 bits has.
func TestCoder_W2_NoSuchNumber(t *testing.T) {
	e := newEncoder()
	var m numbers
	e.tree(m.lengths[0][:], 15, 4)
	e.tree(m.longer[:], 63, 6)
	d := newDecoder(append(e.end(), 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12))
	var n numbers
	if v := d.number(&n); v != 0 || !d.isOver() {
		t.Errorf("a number of %d bits came out", bits.Len64(v))
	}
}
