package access

import (
	"errors"
	"math"
	"regexp"
	"strings"
	"testing"
)

// TestCode_Shape: "OAuth 2.0 Device Authorization Grant", RFC 8628, 2019, section 6.1 proposes
// these twenty letters and gives eight of them as 34.5 bits.
func TestCode_Shape(t *testing.T) {
	if bits := secretLetters * math.Log2(float64(len(alphabet))); bits < 34.5 {
		t.Errorf("a secret has %.1f bits, want 34.5", bits)
	}
	shape := regexp.MustCompile("^[BCDFGHJKLMNPQRSTVWXZ]{4}-[BCDFGHJKLMNPQRSTVWXZ]{4}" +
		"-[BCDFGHJKLMNPQRSTVWXZ]{4}$")
	seen, letters := map[string]bool{}, map[rune]bool{}
	for range 1000 {
		text := NewCode().String()
		if !shape.MatchString(text) {
			t.Fatalf("code %q", text)
		}
		seen[text] = true
		for _, letter := range strings.ReplaceAll(text, "-", "") {
			letters[letter] = true
		}
	}
	if len(seen) != 1000 || len(letters) != len(alphabet) {
		t.Errorf("1000 codes: %d different, %d letters used", len(seen), len(letters))
	}
}

func TestParseCode(t *testing.T) {
	for _, text := range []string{"BCDF-GHJK-LMNP", "bcdfghjklmnp", " BCDF ghjk-LMNP ",
		"B-C-D-F-G-H-J-K-L-M-N-P"} {
		if c, err := ParseCode(text); err != nil || c.String() != "BCDF-GHJK-LMNP" {
			t.Errorf("ParseCode(%q) = %s, %v", text, c, err)
		}
	}
	for _, text := range []string{"", "BCDF", "BCDF-GHJK-LMN", "BCDF-GHJK-LMNPQ", "BCDF-GHJK-LMNA",
		"BCDF-GHJK-LMN1", "BCDF_GHJK_LMNP", "BCDF-GHJK-LMNÖ", strings.Repeat("B", 1<<20)} {
		if _, err := ParseCode(text); !errors.Is(err, ErrCode) {
			t.Errorf("ParseCode(%.20q): %v, want %v", text, err, ErrCode)
		}
	}
}

// TestKey_MAC: what is kept of a code cannot be searched through without the key.
func TestKey_MAC(t *testing.T) {
	c := NewCode()
	a, b := Key{secret: []byte("one")}, Key{secret: []byte("two")}
	if string(a.mac(c)) == string(b.mac(c)) || string(a.mac(c)) != string(a.mac(c)) {
		t.Error("the stored form of a code does not depend on the key alone")
	}
}
