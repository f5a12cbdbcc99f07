package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

func TestOpen_ForThisUserOnly(t *testing.T) {
	s := openNew(t)
	info, err := os.Stat(s.path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v; want 0600", info.Mode(), err)
	}
}

func TestOpen_KeepsWhatIsThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a folder with ? and %41", "practice.db")
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, path)
	enrol(t, s, sessions.Owner, record.ID{}, 7)
	before := dump(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if after := dump(t, openAt(t, path)); after != before {
		t.Errorf("reopened:\n%s\nwant:\n%s", after, before)
	}
}

// TestClose_LeavesOneFile: a stop leaves nothing in the log, so that one file is all there is.
func TestClose_LeavesOneFile(t *testing.T) {
	s := openNew(t)
	enrol(t, s, sessions.Owner, record.ID{}, 7)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(s.path + "-wal"); err == nil && info.Size() > 0 {
		t.Errorf("the log still has %d bytes", info.Size())
	}
}

func TestOpen_RefusesNewer(t *testing.T) {
	s := openNew(t)
	if _, err := s.writer.Exec("PRAGMA user_version = 999"); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadFile(s.path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Open(s.path); !errors.Is(err, ErrNewer) {
		t.Errorf("Open: %v, want %v", err, ErrNewer)
	}
	if after, err := os.ReadFile(s.path); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the file was changed (%v)", err)
	}
}

func TestOpen_RefusesGarbage(t *testing.T) {
	noise := make([]byte, 64<<10)
	dice := rand.New(rand.NewPCG(1, 2))
	for i := range noise {
		noise[i] = byte(dice.Uint32())
	}
	header := append([]byte("SQLite format 3\x00"), noise...)
	for name, content := range map[string][]byte{
		"noise": noise, "a text": []byte("This is not a practice file, it is a shopping list."),
		"the right first bytes": header,
	} {
		path := filepath.Join(t.TempDir(), "practice.db")
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(path); !errors.Is(err, ErrCorrupt) {
			t.Errorf("%s: %v, want %v", name, err, ErrCorrupt)
		}
	}
}

// TestOpen_FlippedBytes damages a good file at 50 places: it is refused, or all reading ends in an
// answer or an error, never in a panic; and what is read otherwise than it was written shows, for
// check finds it, or the digest beside the document tells the phones that fetch it.
func TestOpen_FlippedBytes(t *testing.T) {
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	p := newPen(7)
	for i := range 400 {
		p.write(t, fmt.Sprint("a note, number ", i))
	}
	if _, err := s.Push(p.request(1, 400), m, allow, noon); err != nil {
		t.Fatal(err)
	}
	whole, err := s.Document(t.Context(), p.doc.ID())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	good, err := os.ReadFile(s.path)
	if err != nil {
		t.Fatal(err)
	}
	dice := rand.New(rand.NewPCG(3, 4))
	refused, wrong := 0, 0
	for range 50 {
		bad := bytes.Clone(good)
		bad[dice.IntN(len(bad))] ^= byte(1 + dice.IntN(255))
		path := filepath.Join(t.TempDir(), "practice.db")
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		damaged, err := Open(path)
		if err != nil {
			refused++
			continue
		}
		_, _ = damaged.Pull(t.Context(), p.request(1, 0), m) // it must come back, with what it may
		read, readErr := damaged.Document(t.Context(), p.doc.ID())
		faults, err := damaged.Check(t.Context())
		if err != nil {
			t.Errorf("check: %v", err)
		}
		if readErr != nil || read.Digest() != whole.Digest() {
			wrong++
			if len(faults) == 0 {
				t.Errorf("read otherwise (%v), and check finds nothing", readErr)
			}
		}
		if err := damaged.Close(); err != nil {
			t.Log(err) // what cannot be moved out of a damaged file's log
		}
	}
	t.Logf("%d refused, %d read otherwise", refused, wrong)
	if refused == 0 || wrong == 0 {
		t.Errorf("of 50 damaged files %d were refused, %d read otherwise", refused, wrong)
	}
}

// TestWrite_AllOrNothing: what a failed write did is taken back, after a panic too.
func TestWrite_AllOrNothing(t *testing.T) {
	s := openNew(t)
	before := dump(t, s)
	stop := errors.New("stop")
	err := s.write(func(tx *sql.Tx) error {
		if err := setMeta(tx, "half", "done"); err != nil {
			return err
		}
		return stop
	})
	if !errors.Is(err, stop) {
		t.Errorf("write: %v, want %v", err, stop)
	}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic did not come through")
			}
		}()
		_ = s.write(func(tx *sql.Tx) error { panic(setMeta(tx, "half", "done")) })
	}()
	if after := dump(t, s); after != before {
		t.Errorf("half a write stayed:\n%s", after)
	}
	if err := s.Probe(); err != nil {
		t.Errorf("Probe after a panic: %v", err)
	}
}

var lockRounds = flag.Int("store.rounds", 25, "what each of 16 readers and writers does at once")

// TestStore_NobodyIsLockedOut: readers and writers at once never see "database is locked".
// -store.rounds 1000 is the long run.
func TestStore_NobodyIsLockedOut(t *testing.T) {
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	var all sync.WaitGroup
	for worker := range 16 {
		all.Go(func() {
			for i := range *lockRounds {
				var err error
				if (worker+i)%4 == 0 {
					err = s.Audit(Event{AtMS: noon, Person: m.Person.ID, Act: "test", Result: "ok"})
				} else {
					_, err = s.MemberByDevice(context.Background(), 7)
				}
				if err != nil {
					t.Errorf("worker %d: %v", worker, err)
					return
				}
			}
		})
	}
	all.Wait()
}

// TestFull: a full disk refuses pushes, lets everything be read, and once there is room goes on
// without a restart. A bound on the file's pages gives the same SQLITE_FULL as a full disk
// ("Result and Error Codes", SQLite documentation, SQLITE_FULL).
func TestFull(t *testing.T) {
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	p := newPen(7)
	p.write(t, "before")
	if _, err := s.Push(p.request(1, 1), m, allow, noon); err != nil {
		t.Fatal(err)
	}
	before := dump(t, s)
	if _, err := s.writer.Exec("PRAGMA max_page_count = 1"); err != nil { // the present size at least
		t.Fatal(err)
	}
	for range 300 {
		p.write(t, string(bytes.Repeat([]byte("a long note "), 300)))
	}
	_, err := s.Push(p.request(2, 301), m, allow, noon)
	if !errors.Is(err, ErrFull) {
		t.Fatalf("Push: %v, want %v", err, ErrFull)
	}
	if after := dump(t, s); after != before {
		t.Error("a refused push left something behind")
	}
	if doc, err := s.Document(t.Context(), p.doc.ID()); err != nil || doc.Len() != 1 {
		t.Errorf("reading on a full disk: %v", err)
	}
	if _, err := s.writer.Exec("PRAGMA max_page_count = 1073741823"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Push(p.request(2, 301), m, allow, noon); err != nil {
		t.Errorf("Push with room again: %v", err)
	}
	if doc, err := s.Document(t.Context(), p.doc.ID()); err != nil || doc.Len() != 301 {
		t.Errorf("after all: %v", err)
	}
}

// TestAudit_AppendOnly: no line of the trail can be changed or removed.
func TestAudit_AppendOnly(t *testing.T) {
	s := openNew(t)
	enrol(t, s, sessions.Owner, record.ID{}, 7)
	for _, attempt := range []string{"UPDATE audit SET result = 'x'", "DELETE FROM audit"} {
		if _, err := s.writer.Exec(attempt); err == nil {
			t.Errorf("%s went through", attempt)
		}
	}
}
