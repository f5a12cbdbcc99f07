package access

import (
	"bytes"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestOpenKey_MadeOnceForThisUserOnly(t *testing.T) {
	path := filepath.Join(t.TempDir(), "key")
	a, err := OpenKey(path)
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 || info.Size() < keyBytes {
		t.Errorf("mode %v, size %d, %v", info.Mode(), info.Size(), err)
	}
	b, err := OpenKey(path)
	if err != nil || !bytes.Equal(a.secret, b.secret) {
		t.Errorf("the second start has another key (%v)", err)
	}
	if bytes.Equal(a.derive("token"), a.derive("invitation")) {
		t.Error("two uses share one key")
	}
}

func TestOpenKey_Refuses(t *testing.T) {
	random, err := OpenKey(filepath.Join(t.TempDir(), "key"))
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name    string
		content []byte
		mode    os.FileMode
	}{
		{"empty", nil, 0o600},
		{"a word", []byte("secret"), 0o600},
		{"one byte short", random.secret[:keyBytes-1], 0o600},
		{"a placeholder", []byte("change-me-change-me-change-me-change-me"), 0o600},
		{"zeros", make([]byte, 64), 0o600},
		{"typed", []byte(strings.Repeat("0123456789abcdef", 4) + "\n"), 0o600},
		{"open to others", random.secret, 0o640},
	}
	for _, tt := range tests {
		path := filepath.Join(t.TempDir(), "key")
		if err := os.WriteFile(path, tt.content, tt.mode); err != nil {
			t.Fatal(err)
		}
		if _, err := OpenKey(path); !errors.Is(err, ErrKey) {
			t.Errorf("%s: %v, want %v", tt.name, err, ErrKey)
		}
	}
}

// TestKey_Derive checks the way keys are made against "HMAC-based Extract-and-Expand Key
// Derivation Function (HKDF)", RFC 5869, 2010, appendix A.3: SHA-256 without salt. Its info is
// empty and its output cut at 32 of the 42 bytes printed there.
func TestKey_Derive(t *testing.T) {
	k := Key{secret: bytes.Repeat([]byte{0x0b}, 22)}
	const want = "8da4e775a563c18f715f802a063c5a31b8a11f5c5ee1879ec3454e5f3c738d2d"
	if got := hex.EncodeToString(k.derive("")); got != want {
		t.Errorf("derive = %s, want %s", got, want)
	}
}
