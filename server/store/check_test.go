package store

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// sound asks for a file without faults.
func sound(t *testing.T, s *Store) {
	t.Helper()
	if faults, err := s.Check(t.Context()); err != nil || len(faults) > 0 {
		t.Errorf("Check: %q, %v", faults, err)
	}
}

// busy returns a file in which people joined, one operation was refused and others taken in.
func busy(t *testing.T) (*Store, *pen, Member) {
	t.Helper()
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	p := newPen(7)
	p.write(t, "one", "forbidden", "three", "four")
	if _, err := s.Push(p.request(1, 4), m, allow, noon); err != nil {
		t.Fatal(err)
	}
	return s, p, m
}

// TestCheck_FindsEachFault: each way of tampering is done to a file that was sound, past the
// triggers, and named.
func TestCheck_FindsEachFault(t *testing.T) {
	tests := []struct{ name, done, complaint string }{
		{"a line changed", "UPDATE audit SET result = 'ok' WHERE n = 3", "line 3 of the audit"},
		{"a link changed", "UPDATE audit SET link = x'00' WHERE n = 2", "line 2 of the audit"},
		{"a line taken out", "DELETE FROM audit WHERE n = 2", "line 2 of the audit trail is missing"},
		{"the trail cut", "DELETE FROM audit WHERE n = 3", "ends at line 2, 3 lines were written"},
		{"an operation taken out", "DELETE FROM ops WHERE seq = 3 AND device = 7",
			"operation number 2 is missing"},
		{"the last one taken out", "DELETE FROM ops WHERE seq = 4 AND device = 7",
			"its 2 operations are not the 3"},
		{"an operation in another's place", "UPDATE ops SET bytes = (SELECT bytes FROM ops WHERE" +
			" seq = 4 AND device = 7) WHERE seq = 3 AND device = 7", "is not the one its row says"},
		{"bytes that are none", "UPDATE ops SET bytes = x'00' WHERE seq = 3 AND device = 7",
			"damaged"},
		{"a refusal taken out", "DELETE FROM refusals", "operation 2 of phone 0000000000007 is missing"},
		{"a refusal changed", "UPDATE refusals SET hash = zeroblob(32)", "the chain ends at 4"},
		{"a judgement set back", "UPDATE devices SET have = 3", "it was judged up to 3"},
		{"a record taken out", "DELETE FROM records WHERE kind = 'session'", "not listed with its kind"},
		{"a reference broken", "PRAGMA foreign_keys = 0; DELETE FROM people", "refers to one that is"},
		{"an erased document back", "INSERT INTO erased SELECT id, 999, 0 FROM docs LIMIT 1",
			"was erased and is here again"},
	}
	for _, tt := range tests {
		s, _, _ := busy(t)
		sound(t, s)
		_, err := s.writer.Exec("DROP TRIGGER audit_no_update; DROP TRIGGER audit_no_delete;" + tt.done)
		if err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		faults, err := s.Check(t.Context())
		if err != nil || !strings.Contains(strings.Join(faults, "\n"), tt.complaint) {
			t.Errorf("%s: %q, %v; want %q", tt.name, faults, err, tt.complaint)
		}
	}
}

// TestCheck_FlippedBytes damages a good file at 50 places: each is found, or what is read is what
// was written.
func TestCheck_FlippedBytes(t *testing.T) {
	s, p, m := busy(t)
	for range 300 { // so that most of the file is in use
		p.write(t, "a note of some length, as people write them")
	}
	if _, err := s.Push(p.request(5, 304), m, allow, noon); err != nil {
		t.Fatal(err)
	}
	before := dump(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	good, err := os.ReadFile(s.path)
	if err != nil {
		t.Fatal(err)
	}
	dice := rand.New(rand.NewPCG(5, 6))
	found, harmless := 0, 0
	for range 100 {
		bad := bytes.Clone(good)
		at := dice.IntN(len(bad))
		bad[at] ^= byte(1 + dice.IntN(255))
		path := filepath.Join(t.TempDir(), "practice.db")
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		damaged, err := Open(path)
		if err != nil {
			found++
			continue
		}
		faults, err := damaged.Check(t.Context())
		_, pullErr := damaged.Pull(t.Context(), p.request(1, 0), m)
		switch {
		case err != nil || len(faults) > 0 || pullErr != nil:
			found++
		case dump(t, damaged) == before:
			harmless++
		default:
			t.Errorf("the byte at %d is wrong and nobody says so", at)
		}
		_ = damaged.Close() // a damaged file may not close in order
	}
	// Most of so small a file is room that nothing uses yet.
	if found < 30 || found+harmless != 100 {
		t.Errorf("%d found, %d harmless of 100", found, harmless)
	}
	t.Logf("%d found, %d harmless", found, harmless)
}

// version writes a practice file as an earlier version left it: one of the first version, brought
// up to date so far by the steps of that day.
func version(t *testing.T, n int) string {
	t.Helper()
	script, err := os.ReadFile("testdata/version1.sql")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "practice.db")
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(string(script)); err != nil {
		t.Fatal(err)
	}
	_, steps, err := versions(db)
	if err != nil {
		t.Fatal(err)
	}
	for step := 2; step <= n; step++ {
		if err := migrateStep(db, step, steps[step-1].Name()); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestSchema_StepsNeverChange: each step is, to the byte, what it was when files were first brought
// up to date with it; a new one is added to testdata/steps.sha256 with the day's sum.
func TestSchema_StepsNeverChange(t *testing.T) {
	sums, err := os.ReadFile("testdata/steps.sha256")
	if err != nil {
		t.Fatal(err)
	}
	steps, err := schema.ReadDir("schema")
	if err != nil {
		t.Fatal(err)
	}
	var now strings.Builder
	for _, step := range steps {
		script, err := schema.ReadFile("schema/" + step.Name())
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&now, "%x  %s\n", sha256.Sum256(script), step.Name())
	}
	if now.String() != string(sums) {
		t.Errorf("the steps are\n%s, and were\n%s", now.String(), sums)
	}
}

// TestOpen_EveryEarlierVersion: a file of each version since the first is brought up to date,
// nothing in it is lost, and it is as good as a new one.
func TestOpen_EveryEarlierVersion(t *testing.T) {
	for n := 1; n <= Version(); n++ {
		path := version(t, n)
		if _, err := OpenPresent(path); n < Version() && !errors.Is(err, ErrOlder) {
			t.Errorf("version %d is opened by a command: %v, want %v", n, err, ErrOlder)
		}
		s := openAt(t, path)
		sound(t, s)
		// What the program of that day had taken in: three operations of two phones, one refused.
		doc, err := s.Document(t.Context(), record.ID{Device: 7, Seq: 1})
		if err != nil || doc.Len() != 4 {
			t.Fatalf("version %d: %d operations, %v; want 4", n, doc.Len(), err)
		}
		m, err := s.MemberByDevice(t.Context(), 7)
		if err != nil || m.Person.Role != sessions.Owner {
			t.Fatalf("version %d: %+v, %v", n, m, err)
		}
		p := newPen(7)
		p.write(t, "one", "forbidden", "three", "a new one")
		done, err := s.Push(p.request(4, 4), m, allow, noon)
		if err != nil || len(done.Accepted) != 1 || done.State.Have != 4 {
			t.Errorf("version %d: the phone's next push: %+v, %v", n, done.Judgement, err)
		}
		sound(t, s)
	}
}

// TestErase_LeavesNothing: not one byte of an erased record is in the folder, whoever holds it is
// told once for each cursor, and what is pushed into it again is turned away.
func TestErase_LeavesNothing(t *testing.T) {
	s, p, m := busy(t)
	other := newPen(7)
	other.Author, other.doc = p.Author, record.NewDoc(record.ID{Device: 7, Seq: 5})
	other.ops = p.ops
	other.write(t, "MARKER-OF-A-NOTE", "another")
	if _, err := s.Push(other.request(5, 6), m, allow, noon); err != nil {
		t.Fatal(err)
	}
	inv := Invitation{Handle: "H9", SecretMAC: []byte("mac"), Role: sessions.ClientOf,
		Name: "MARKER-OF-A-NAME", Doc: other.doc.ID(), MadeBy: m, ExpiresMS: noon + 1}
	if err := s.AddInvitation(inv, noon); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Join("H9", []byte("mac"), Joining{Device: 9}, noon); err != nil {
		t.Fatal(err)
	}
	if !holds(t, s.path, "MARKER-OF-A-") {
		t.Fatal("the marker is nowhere: the search is no good")
	}
	had, err := s.Erase(other.doc.ID(), noon)
	if err != nil || !had {
		t.Fatalf("Erase: %v, %v", had, err)
	}
	if err := s.Scrub(); err != nil {
		t.Fatal(err)
	}
	if holds(t, s.path, "MARKER-OF-A-") {
		t.Error("a marker is still in the folder")
	}
	sound(t, s)
	if doc, err := s.Document(t.Context(), p.doc.ID()); err != nil || doc.Len() != 3 {
		t.Errorf("the other record: %d operations, %v", doc.Len(), err)
	}
	q := wire.Request{Device: 7, Pulls: []wire.Pull{{Doc: other.doc.ID()}}}
	news, err := s.Pull(t.Context(), q, m)
	want := wire.Gone{Doc: other.doc.ID(), Reason: wire.CodeErased}
	if err != nil || len(news.Gone) != 1 || news.Gone[0] != want || len(news.Pages) != 0 {
		t.Errorf("told %+v, %v", news, err)
	}
	q.Seen = news.Seen
	if news, err = s.Pull(t.Context(), q, m); err != nil || len(news.Gone) != 0 {
		t.Errorf("told again %+v, %v", news, err)
	}
	if had, err := s.Erase(other.doc.ID(), noon); err != nil || had {
		t.Errorf("a second time: %v, %v", had, err)
	}
	practice, err := s.Practice(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Erase(practice.Doc, noon); !errors.Is(err, ErrPractice) {
		t.Errorf("the practice's own record: %v, want %v", err, ErrPractice)
	}
}

// holds reports whether any file in the folder of path holds the text.
func holds(t *testing.T, path, text string) bool {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		content, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(content, []byte(text)) {
			return true
		}
	}
	return false
}

// TestOpen_QuickCheckIsBounded: a file that takes long to look at does not keep a server from
// starting.
func TestOpen_QuickCheckIsBounded(t *testing.T) {
	s, _, _ := busy(t)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	before := quickWait
	t.Cleanup(func() { quickWait = before })
	quickWait = 0
	again, err := Open(s.path)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, again)
	if err := again.Close(); err != nil {
		t.Error(err)
	}
}
