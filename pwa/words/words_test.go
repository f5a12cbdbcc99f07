// Package words_test holds the phrase files against the code that hands out
// their keys: nothing shown without words, no words without use, no argument
// that nobody passes, and no jargon.
package words_test

import (
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// TestEveryKeyHasWords: a key without words would be shown to people as it is.
func TestEveryKeyHasWords(t *testing.T) {
	english := readMessages(t, "en.json")
	used := usedKeys(t)
	for _, key := range sorted(used) {
		if _, found := english[key]; !found {
			t.Errorf("en.json has no words for %q", key)
		}
	}
	page := pageText(t)
	for _, key := range english.keys() {
		inPage := strings.Contains(page, "'"+key+"'")
		if !used[key] && !inPage && !strings.HasPrefix(key, "page.") {
			t.Errorf("en.json has %q, which nothing hands out", key)
		}
	}
}

// draftNote stands beside the choice of language.
const draftNote = "look.draft_note"

// usedKeys gathers the keys that the core, the pure packages and the page's own
// notices hand out.
func usedKeys(t *testing.T) map[string]bool {
	t.Helper()
	used := map[string]bool{draftNote: true}
	all := families(t)
	for _, c := range coreCalls(t) {
		for _, key := range c.keys(t, all) {
			used[key] = true
		}
	}
	for key := range internalWords(t) {
		used[key] = true
	}
	for _, key := range noticeKeys(pageText(t)) {
		used[key] = true
	}
	return used
}

// keys are the keys that one call can hand out.
func (c call) keys(t *testing.T, all map[string][]string) []string {
	t.Helper()
	if c.key != "" {
		return []string{c.key}
	}
	members, known := all[c.head+"*"+c.tail]
	if !known {
		t.Errorf("%s computes a key %q that no family lists", c.place, c.head+"*"+c.tail)
	}
	keys := make([]string, len(members))
	for i, member := range members {
		keys[i] = c.head + member + c.tail
	}
	return keys
}

// internalWords are the English words that the pure packages keep beside them.
func internalWords(t *testing.T) messages {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(internalDir, "*", "words_en.json"))
	if err != nil || len(paths) < 5 {
		t.Fatalf("found only %q (%v)", paths, err)
	}
	all := messages{}
	for _, path := range paths {
		for key, text := range readMessages(t, path) {
			all[key] = text
		}
	}
	return all
}

var (
	pageKey     = regexp.MustCompile(`\bk: '([a-z]+(?:\.\w+)+)'`)
	pageNotice  = regexp.MustCompile(`notice\('[^']+', '([^']+)'`)
	troubleCode = regexp.MustCompile(`(?m)^  \| '(\w+)'`)
	troubleType = regexp.MustCompile(`(?s)type TroubleCode =.*?\n\n`)
)

// noticeKeys are the keys in the page's own source.
func noticeKeys(page string) []string {
	var keys []string
	for _, m := range pageKey.FindAllStringSubmatch(page, -1) {
		keys = append(keys, m[1])
	}
	for _, m := range pageNotice.FindAllStringSubmatch(page, -1) {
		keys = append(keys, m[1]+".finding", m[1]+".safe", m[1]+".state")
	}
	for _, m := range troubleCode.FindAllStringSubmatch(troubleType.FindString(page), -1) {
		keys = append(keys, "trouble."+m[1])
	}
	return keys
}

// TestArguments: a message uses only what it is given.
func TestArguments(t *testing.T) {
	english, all := readMessages(t, "en.json"), families(t)
	seen := 0
	for _, c := range coreCalls(t) {
		if !c.argsKnown {
			continue
		}
		for _, key := range c.keys(t, all) {
			s, err := parse(english[key])
			if err != nil {
				t.Errorf("%s: %v", key, err)
			}
			seen += len(s.args)
			for _, name := range sorted(s.args) {
				if !c.args[name] {
					t.Errorf("%q uses {%s}, which %s does not pass", key, name, c.place)
				}
			}
		}
	}
	if seen < 100 {
		t.Errorf("only %d arguments were seen: the core passes them another way now", seen)
	}
	for key, text := range internalWords(t) {
		given, err := parse(text)
		if err != nil {
			t.Errorf("%s: %v", key, err)
		}
		asked, _ := parse(english[key])
		for name := range asked.args {
			if !given.args[name] {
				t.Errorf("%q uses {%s}, which its own package does not", key, name)
			}
		}
	}
}

// jargon is what no reader should meet. Words of the trade of statistics are
// left alone where a number shows its working.
var jargon = regexp.MustCompile(`(?i)\b(merg(e|ed|ing)|conflicts?|crdt|operations?|registers?|` +
	`servers?|sync\w*|tombstones?|replicas?|snapshots?|payload|tokens?|invalid|illegal|fail(ed|ure)|` +
	`fatal|errors?|oops|at risk|injury risk|diagnos\w+)\b`)

var workingPrefixes = []string{"input.", "step.", "working.", "loading.", "caution.", "note."}

// TestPlainWords checks the tone of both languages' originals: no jargon, no
// blame. Where something was refused, it is said what is safe and what to do
// (WCAG 2.2, success criterion 3.3.3), so one sentence is not enough.
func TestPlainWords(t *testing.T) {
	english := readMessages(t, "en.json")
	for _, key := range english.keys() {
		text := english[key]
		isWorking := slices.ContainsFunc(workingPrefixes, func(p string) bool {
			return strings.HasPrefix(key, p)
		})
		if found := jargon.FindString(text); found != "" && !isWorking {
			t.Errorf("%q says %q: %s", key, found, text)
		}
		kind, _, _ := strings.Cut(key, ".")
		isRefusal := kind == "error" || kind == "problem" || kind == "bounds" || kind == "trouble"
		if isRefusal && len(regexp.MustCompile(`[.;:?!] `).FindAllString(text, -1)) < 1 {
			t.Errorf("%q does not say what is safe or what to do: %s", key, text)
		}
	}
}

// TestStates pins the four wordings that say where things stand.
func TestStates(t *testing.T) {
	english := readMessages(t, "en.json")
	states := messages{
		"state.saved":     "Saved on this phone",
		"state.sending":   "Sending {n} of {all}…",
		"state.sent":      "All sent {at}",
		"state.attention": "{n, plural, one {# needs} other {# need}} your attention",
	}
	for key, want := range states {
		if english[key] != want {
			t.Errorf("%s is %q, want %q", key, english[key], want)
		}
	}
}

// TestBothSides: who names a hand or an elbow of one side names the side that
// works too (a hold works the side that is down, a weight the side opposite the
// hand: common practice, no source).
func TestBothSides(t *testing.T) {
	english := readMessages(t, "en.json")
	body := regexp.MustCompile(`(left|right|\{side\}|\{weaker\}|other) (elbow|hand)\b`)
	down := regexp.MustCompile(`(left|right) side (down|facing)`)
	// Halves of a pair: the page shows them with side.works.
	halves := []string{"side.lies_on", "side.in_hand", "side.elbow_down"}
	checked := 0
	for _, key := range english.keys() {
		text := strings.ToLower(english[key])
		if slices.Contains(halves, key) || !body.MatchString(text) && !down.MatchString(text) {
			continue
		}
		checked++
		isWorking := strings.HasPrefix(key, "loading.") || strings.HasPrefix(key, "caution.")
		if !strings.Contains(text, "works") && !isWorking {
			t.Errorf("%q names a hand or elbow but not the side that works: %s", key, english[key])
		}
	}
	if checked < 20 {
		t.Errorf("only %d messages name a hand or elbow", checked)
	}
	opposite := map[string]string{"right hand, works left": "", "left hand, works right": ""}
	wrong := regexp.MustCompile(`right hand, works right|left hand, works left|` +
		`left elbow( down)?, works right|right elbow( down)?, works left|` +
		`left side down, works right|right side down, works left`)
	for _, key := range english.keys() {
		text := strings.ToLower(english[key])
		if wrong.MatchString(text) {
			t.Errorf("%q mixes up the sides: %s", key, english[key])
		}
		for phrase := range opposite {
			if strings.Contains(text, phrase) {
				opposite[phrase] = key
			}
		}
	}
	for phrase, key := range opposite {
		if key == "" {
			t.Errorf("nothing says %q", phrase)
		}
	}
}
