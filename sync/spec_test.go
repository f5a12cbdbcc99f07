package sync_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenhold/sync/wire"
)

var (
	ruleLine = regexp.MustCompile(`(?m)^- \*\*([MCWXT]\d+)\*\* `)
	testName = regexp.MustCompile(`(?m)^func (?:Test|Fuzz)\w*?_([MCWXT]\d+)(?:_|\()`)
)

// TestSpec_W8_EveryRuleHasATest reads SPEC.md and the names of all tests below this folder.
func TestSpec_W8_EveryRuleHasATest(t *testing.T) {
	rules := found(t, ruleLine, "SPEC.md")
	files, err := filepath.Glob("*/*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	tested := found(t, testName, append(files, "spec_test.go")...)
	if len(rules) < 40 {
		t.Fatalf("only %d rules were found", len(rules))
	}
	for i, rule := range rules {
		if slices.Contains(rules[:i], rule) {
			t.Errorf("rule %s stands twice", rule)
		}
		if !slices.Contains(tested, rule) {
			t.Errorf("rule %s has no test with its number in its name", rule)
		}
	}
	for _, rule := range tested {
		if !slices.Contains(rules, rule) {
			t.Errorf("a test names rule %s, which SPEC.md does not have", rule)
		}
	}
}

func found(t *testing.T, pattern *regexp.Regexp, files ...string) []string {
	t.Helper()
	var names []string
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, match := range pattern.FindAllStringSubmatch(string(text), -1) {
			names = append(names, match[1])
		}
	}
	return names
}

// TestCodes_W8_ListIsClosed: the program's list and the table in SPEC.md are one.
func TestCodes_W8_ListIsClosed(t *testing.T) {
	listed := found(t, regexp.MustCompile("(?m)^\\| `(\\w+)` \\|"), "SPEC.md")
	if got, want := strings.Join(listed, " "), strings.Join(wire.Codes(), " "); got != want {
		t.Errorf("SPEC.md lists %s, the program %s", got, want)
	}
}
