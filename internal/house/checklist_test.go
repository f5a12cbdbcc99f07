package house

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// checklist is every item that SECURITY.md answers for: letters, and their numbers from first to
// last.
var checklist = []struct {
	letter      string
	first, last int
}{
	{"S", 1, 25}, {"S", 27, 47}, {"R", 1, 16}, {"R", 20, 33}, {"E", 8, 15}, {"H", 1, 12},
}

// checkRow is one row of the tables in SECURITY.md.
type checkRow struct{ item, asked, state, held, missing string }

var itemName = regexp.MustCompile(`^[A-Z][0-9]+$`)

// checkRows reads the rows whose first cell is the number of an item.
func checkRows(text string) (rows []checkRow) {
	for line := range strings.SplitSeq(text, "\n") {
		cells := strings.Split(strings.Trim(line, "|"), "|")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if !strings.HasPrefix(line, "|") || !itemName.MatchString(cells[0]) {
			continue
		}
		cells = append(cells, make([]string, 5)...)
		rows = append(rows, checkRow{cells[0], cells[1], cells[2], cells[3], cells[4]})
	}
	return rows
}

// rowFaults returns what is wrong with a row by itself.
func rowFaults(r checkRow) (faults []string) {
	switch r.state {
	case "done":
		if r.held == "" {
			faults = append(faults, "is done, but no test is named that holds it")
		}
	case "partly":
		if r.held == "" || r.missing == "" {
			faults = append(faults, "is partly done: name the tests and what is missing, and why")
		}
	case "no":
		if r.missing == "" {
			faults = append(faults, "is not done: say why")
		}
	default:
		faults = append(faults, fmt.Sprintf("is %q: say done, partly or no", r.state))
	}
	if r.asked == "" {
		faults = append(faults, "does not say what is asked")
	}
	return faults
}

// itemFaults returns what is wrong with the list of rows: items missing, twice or unknown.
func itemFaults(rows []checkRow) (faults []string) {
	count, unknown := map[string]int{}, map[string]string{}
	for _, r := range rows {
		count[r.item]++
		unknown[r.item] = r.asked
	}
	for _, c := range checklist {
		for n := c.first; n <= c.last; n++ {
			item := fmt.Sprintf("%s%d", c.letter, n)
			if count[item] != 1 {
				faults = append(faults, fmt.Sprintf("%s has %d rows, want one", item, count[item]))
			}
			delete(unknown, item)
		}
	}
	for _, item := range sortedKeys(unknown) {
		faults = append(faults, item+" is no item of the checklist")
	}
	return faults
}

// A place is a package or file in backquotes; behind its colon stand Go tests in backquotes or
// titles of other tests in quotes, with commas between.
var (
	heldPart = regexp.MustCompile("^`([a-z0-9_./-]+)`(?:: (.+))?$")
	heldName = regexp.MustCompile("^(?:`((?:Test|Fuzz|Example)\\w+)`|\"([^\"]+)\")$")
	nextName = regexp.MustCompile("(`|\"), (`|\")")
	nextPart = regexp.MustCompile("(`|\"); `")
)

// heldFaults returns what a cell names that is not there. source returns the text in which the
// tests of a place stand, "" if there is no such place.
func heldFaults(held string, source func(place string) string) (faults []string) {
	if held == "" {
		return nil
	}
	for part := range strings.SplitSeq(nextPart.ReplaceAllString(held, "$1\n`"), "\n") {
		m := heldPart.FindStringSubmatch(part)
		if m == nil {
			faults = append(faults, fmt.Sprintf("%q is no place with its tests", part))
			continue
		}
		text, isFile := source(m[1]), strings.Contains(m[1], ".")
		if text == "" || (m[2] == "" && !isFile) {
			faults = append(faults, fmt.Sprintf("%q names no place or no test", part))
			continue
		}
		if m[2] == "" {
			continue
		}
		for name := range strings.SplitSeq(nextName.ReplaceAllString(m[2], "$1\n$2"), "\n") {
			n := heldName.FindStringSubmatch(name)
			switch {
			case n == nil:
				faults = append(faults, fmt.Sprintf("%q is no name of a test", name))
			case n[1] != "" && !strings.Contains(text, "\nfunc "+n[1]+"("):
				faults = append(faults, fmt.Sprintf("%s has no test %s", m[1], n[1]))
			case n[2] != "" && !strings.Contains(text, "test('"+n[2]+"'"):
				faults = append(faults, fmt.Sprintf("%s has no test %q", m[1], n[2]))
			}
		}
	}
	return faults
}

// testSource returns the text of a file, or of all test files of a package.
func testSource(place string) string {
	at := filepath.Join(root, filepath.FromSlash(place))
	files := []string{at}
	if info, err := os.Stat(at); err == nil && info.IsDir() {
		files, _ = filepath.Glob(filepath.Join(at, "*_test.go")) // the pattern is a good one
	}
	var b strings.Builder
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			return ""
		}
		b.Write(text)
	}
	return b.String()
}

// TestChecklist: SECURITY.md answers for each item, by tests that there are or by a reason, and
// the README leads to it.
func TestChecklist(t *testing.T) {
	rows := checkRows(string(read(t, "SECURITY.md")))
	for _, fault := range itemFaults(rows) {
		t.Error(fault)
	}
	for _, r := range rows {
		for _, fault := range append(rowFaults(r), heldFaults(r.held, testSource)...) {
			t.Errorf("%s %s", r.item, fault)
		}
	}
	if !strings.Contains(string(read(t, "README.md")), "](SECURITY.md)") {
		t.Error("README.md does not link SECURITY.md")
	}
}

func TestChecklistFaults(t *testing.T) {
	source := func(place string) string {
		return map[string]string{"a/b": "x\nfunc TestOne(t", "c.test.ts": "test('a; b', "}[place]
	}
	for _, tt := range []struct {
		row   checkRow
		count int
	}{
		{checkRow{"S1", "x", "done", "`a/b`: `TestOne`; `c.test.ts`: \"a; b\"", ""}, 0},
		{checkRow{"S1", "x", "done", "`c.test.ts`", "more"}, 0},
		{checkRow{"S1", "x", "no", "", "why"}, 0},
		{checkRow{"S1", "x", "done", "", "why"}, 1},
		{checkRow{"S1", "x", "partly", "`a/b`: `TestOne`", ""}, 1},
		{checkRow{"S1", "x", "no", "", ""}, 1},
		{checkRow{"S1", "", "soon", "", "why"}, 2},
		{checkRow{"S1", "x", "done", "`a/b`", ""}, 1},
		{checkRow{"S1", "x", "done", "`a/c`: `TestOne`", ""}, 1},
		{checkRow{"S1", "x", "done", "`a/b`: `TestTwo`, `TestOn`", ""}, 2},
		{checkRow{"S1", "x", "done", "`c.test.ts`: \"a\"", ""}, 1},
		{checkRow{"S1", "x", "done", "believe me", ""}, 1},
	} {
		faults := append(rowFaults(tt.row), heldFaults(tt.row.held, source)...)
		if len(faults) != tt.count {
			t.Errorf("%+v: %q, want %d", tt.row, faults, tt.count)
		}
	}
	rows := checkRows("| S1 | a | done | b | |\n| S1 | a | done | b | |\n| Z9 | a | no | | c |\n")
	faults := itemFaults(rows)
	if !slices.Contains(faults, "S1 has 2 rows, want one") ||
		!slices.Contains(faults, "S2 has 0 rows, want one") ||
		!slices.Contains(faults, "Z9 is no item of the checklist") {
		t.Errorf("%q", faults)
	}
}
