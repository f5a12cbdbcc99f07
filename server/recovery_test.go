package main

import (
	"database/sql"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// TestRecovery: an owner who has lost every phone types in one of the ten printed codes and is the
// owner again, on a server that runs on; no code lies in the folder, and making and use are on
// record.
func TestRecovery(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	if code, text := told(t, data, "recovery", "--yes"); code != exitFailure ||
		!strings.Contains(text, "no owner yet") {
		t.Errorf("before there is an owner: %d %s", code, text)
	}
	owner := join(t, r, r.out.String(), 0x1111, nowMS())
	owner.sync()
	alex := owner.write(record.ID{}, "Alex Example")
	owner.sync()
	shape := regexp.MustCompile(`(?m)^ +\d+  (([A-Z]{4}-){7}[A-Z]{4})$`)
	if text := must(t, data, "recovery"); shape.MatchString(text) {
		t.Errorf("without --yes:\n%s", text)
	}
	var codes []string
	for _, found := range shape.FindAllStringSubmatch(must(t, data, "recovery", "--yes"), -1) {
		codes = append(codes, found[1])
	}
	if len(codes) != 10 || len(slices.Compact(slices.Sorted(slices.Values(codes)))) != 10 {
		t.Fatalf("%d codes: %q", len(codes), codes)
	}
	must(t, data, "devices", "--revoke", clock.Device(0x1111).String())
	again := join(t, r, "/join#"+codes[3], 0x2222, owner.nowMS)
	again.sync()
	if _, isHeld := again.Doc(alex); !isHeld {
		t.Error("the owner's new phone does not get the records")
	}
	if text := must(t, data, "people"); strings.Count(text, "owner") != 1 {
		t.Errorf("people:\n%s", text)
	}
	for _, code := range codes {
		none(t, data, code)
		none(t, data, strings.ReplaceAll(code, "-", ""))
	}
	must(t, data, "check")
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	for _, act := range []string{"recovery codes", "recover"} {
		if n := audited(t, data, act); n != 1 {
			t.Errorf("%q is on record %d times, want once", act, n)
		}
	}
}

// audited counts the lines of the audit trail about an act.
func audited(t *testing.T, data, act string) (n int) {
	t.Helper()
	db, err := sql.Open("sqlite3", filepath.Join(data, storeName))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	row := db.QueryRow("SELECT count(*) FROM audit WHERE act = ? AND result = 'ok'", act)
	if err := row.Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}
