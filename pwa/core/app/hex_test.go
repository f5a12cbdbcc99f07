package app

import (
	"bytes"
	"encoding/hex"
	"testing"

	"pgregory.net/rapid"
)

// TestHex holds both ways to Go's encoding/hex.
func TestHex(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")
		text := hexOf(b)
		if want := hex.EncodeToString(b); text != want {
			t.Fatalf("hexOf(%v) = %s, want %s", b, text, want)
		}
		if got, err := parseHex(text); err != nil || !bytes.Equal(got, b) {
			t.Fatalf("parseHex(%s) = %v, %v", text, got, err)
		}
		odd := rapid.StringMatching(`[0-9a-gA-F+_]{0,6}`).Draw(t, "text")
		got, err := parseHex(odd)
		want, wantErr := hex.DecodeString(odd)
		if (err == nil) != (wantErr == nil) || err == nil && !bytes.Equal(got, want) {
			t.Fatalf("parseHex(%q) = %v, %v, want %v, %v", odd, got, err, want, wantErr)
		}
	})
}
