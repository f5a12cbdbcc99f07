package progression_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenhold/internal/progression"
)

type words map[string]string

func readWords(t *testing.T) words {
	t.Helper()
	data, err := os.ReadFile("words_en.json")
	if err != nil {
		t.Fatal(err)
	}
	var w words
	if err := json.Unmarshal(data, &w); err != nil {
		t.Fatal(err)
	}
	return w
}

var placeholder = regexp.MustCompile(`\{(\w+)\}`)

type fataler interface{ Fatalf(string, ...any) }

// checkAll: every rule has a text, every placeholder of the text has a number,
// and every number can be shown.
func (w words) checkAll(t fataler, rules []progression.Fired) {
	for _, r := range rules {
		text, ok := w[r.Key]
		if !ok {
			t.Fatalf("no text for %q", r.Key)
		}
		for _, m := range placeholder.FindAllStringSubmatch(text, -1) {
			if v, ok := r.Numbers[m[1]]; !ok || math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%s needs {%s}, numbers are %v", r.Key, m[1], r.Numbers)
			}
		}
		if r.Source.Status == "" {
			t.Fatalf("%s does not say where it comes from", r.Key)
		}
	}
}

// emitted gathers the keys that the ladders and the source text can give out.
func emitted(t *testing.T) map[string]bool {
	t.Helper()
	keys := map[string]bool{}
	for _, l := range progression.Ladders() {
		for _, s := range l.Steps {
			keys[s.Name], keys[s.Setup] = true, true
			for _, k := range append(s.Cues, s.Cautions...) {
				keys[k] = true
			}
			for _, f := range s.Faults {
				keys[f.Key], keys[f.Cue] = true, true
			}
		}
	}
	// A free first side is the left: lying on it, or with the right hand.
	for _, k := range []string{"first.down_left", "first.down_right", "first.hand_left",
		"first.hand_right", "first_free.down_left", "first_free.hand_right"} {
		keys["rule."+k] = true
	}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	rule := regexp.MustCompile(`(?:fired\(|name :?= )"([a-z0-9_]+)"`)
	other := regexp.MustCompile(`"((?:ask|bounds|refuse|working)\.[a-z0-9_.]+)"`)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range rule.FindAllStringSubmatch(string(data), -1) {
			keys["rule."+m[1]] = true
		}
		for _, m := range other.FindAllStringSubmatch(string(data), -1) {
			if m[1] != "bounds." {
				keys[m[1]] = true
			}
		}
	}
	return keys
}

func TestWordsMatchKeys(t *testing.T) {
	w, keys := readWords(t), emitted(t)
	for k := range keys {
		if w[k] == "" {
			t.Errorf("%q is given out and has no text", k)
		}
	}
	for k := range w {
		if !keys[k] {
			t.Errorf("%q has a text and is never given out", k)
		}
	}
}

// TestWordsAreShort: a cue must be said in a second or two, so it has no more
// than five words; a set-up has no more than three sentences.
func TestWordsAreShort(t *testing.T) {
	for k, text := range readWords(t) {
		if strings.HasPrefix(k, "cue.") && len(strings.Fields(text)) > 5 {
			t.Errorf("%s: %q has more than five words", k, text)
		}
		if strings.HasSuffix(k, ".setup") && strings.Count(text, ".") > 3 {
			t.Errorf("%s has more than three sentences", k)
		}
	}
}
