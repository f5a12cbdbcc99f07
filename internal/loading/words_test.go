package loading

import (
	"encoding/json"
	"os"
	"regexp"
	"sort"
	"strings"
	"testing"
)

// TestWords: every message key that the package can emit has an English text, and no
// text is without a key.
func TestWords(t *testing.T) {
	text, err := os.ReadFile("words_en.json")
	if err != nil {
		t.Fatal(err)
	}
	var words map[string]string
	if err := json.Unmarshal(text, &words); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	key := regexp.MustCompile(`"(loading\.[a-z0-9_.]+)"`)
	used := map[string]bool{}
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		code, err := os.ReadFile(e.Name())
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range key.FindAllStringSubmatch(string(code), -1) {
			used[m[1]] = true
		}
	}
	if len(used) < 40 {
		t.Fatalf("only %d keys found in the code", len(used))
	}
	var faults []string
	for k := range used {
		if strings.TrimSpace(words[k]) == "" {
			faults = append(faults, "no text for "+k)
		}
	}
	for k := range words {
		if !used[k] {
			faults = append(faults, "text without a key: "+k)
		}
	}
	sort.Strings(faults)
	for _, f := range faults {
		t.Error(f)
	}
}
