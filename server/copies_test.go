package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"evenhold/server/store"
	"evenhold/sync/record"
)

// heldBy returns how many operations of a document a stopped server's folder holds.
func heldBy(t *testing.T, data string, doc record.ID) int {
	t.Helper()
	s, err := store.OpenPresent(filepath.Join(data, storeName))
	if err != nil {
		t.Fatal(err)
	}
	d, err := s.Document(t.Context(), doc)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return d.Len()
}

// TestBackup_DuringPushes: a backup that is made while phones push holds all that was acknowledged
// before it began, and nothing by halves.
func TestBackup_DuringPushes(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	owner, doc := claimed(t, r)
	var mu sync.Mutex
	acked, stop := 1, false
	var pushing sync.WaitGroup
	pushing.Go(func() {
		for push := 0; ; push++ {
			owner.notes(doc, 1+push%40)
			if err := owner.attempt(); err != nil {
				t.Error(err)
				return
			}
			d, _ := owner.Doc(doc)
			mu.Lock()
			acked = d.Len() - owner.Unsent()
			ends := stop && push > 20
			mu.Unlock()
			if ends {
				return
			}
		}
	})
	backups := map[string]int{} // to how many operations had been acknowledged before
	for range 4 {
		mu.Lock()
		before := acked
		mu.Unlock()
		path := strings.Fields(must(t, data, "backup"))[0]
		away := filepath.Join(t.TempDir(), filepath.Base(path))
		copyFile(t, path, away) // two of one second have one name
		backups[away] = before
	}
	mu.Lock()
	stop = true
	mu.Unlock()
	pushing.Wait()
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	all := heldBy(t, data, doc)
	for path, before := range backups {
		fresh := filepath.Join(t.TempDir(), "data")
		must(t, fresh, "restore", path)
		must(t, fresh, "check")
		if held := heldBy(t, fresh, doc); held < before || held > all {
			t.Errorf("a backup holds %d operations; %d were acknowledged before it, %d in the end",
				held, before, all)
		}
	}
	if all < 100 {
		t.Errorf("only %d operations were pushed meanwhile", all)
	}
}

// TestMove_PhonesKeepWorking moves a practice to another machine in both ways: by its newest
// backup, and by the folder of a stopped server. Phones go on as they are, with what they had not
// sent; nobody is invited anew.
func TestMove_PhonesKeepWorking(t *testing.T) {
	for _, way := range []string{"backup", "folder"} {
		old := filepath.Join(t.TempDir(), "data")
		r := start(t, old)
		r.url()
		owner, doc := claimed(t, r)
		coach := join(t, r, must(t, old, "invite", "--role", "coach"), 0x2222, owner.nowMS)
		coach.sync()
		owner.write(doc, "not sent before the move")
		var path string
		if way == "backup" {
			path = strings.Fields(must(t, old, "backup"))[0]
		}
		if r.end() != exitOK {
			t.Fatal(r.err.String())
		}
		fresh := filepath.Join(t.TempDir(), "data")
		if way == "backup" {
			must(t, fresh, "restore", path)
		} else if text, err := exec.Command("cp", "-a", old, fresh).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if err := os.RemoveAll(old); err != nil {
			t.Fatal(err)
		}
		r = start(t, fresh)
		r.url()
		if strings.Contains(r.out.String(), "/join#") {
			t.Errorf("%s: the practice is to be claimed anew", way)
		}
		for _, p := range []*phone{owner, coach, owner} {
			p.server = r
			p.sync()
		}
		coach.sync()
		if owner.digest(doc) != coach.digest(doc) || owner.renewed+coach.renewed != 0 ||
			owner.Unsent() != 0 || !strings.HasPrefix(coach.digest(doc), "2 ") {
			t.Errorf("%s: the owner has %s, the coach %s; %d and %d new identities", way,
				owner.digest(doc), coach.digest(doc), owner.renewed, coach.renewed)
		}
		if r.end() != exitOK {
			t.Fatal(r.err.String())
		}
		must(t, fresh, "check")
	}
}

// TestKey_Lost: without its key file a server makes another. Every phone is signed out by that, and
// comes back by an invitation of its own person, with what it had not sent.
func TestKey_Lost(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	owner, doc := claimed(t, r)
	owner.write(doc, "not sent before the loss")
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	if err := os.Remove(filepath.Join(data, keyName)); err != nil {
		t.Fatal(err)
	}
	r = start(t, data)
	r.url()
	owner.server = r
	if _, err := owner.tryToken(); err == nil {
		t.Error("a secret of the lost key still lets in")
	}
	invited := must(t, data, "invite", "--role", "owner")
	owner.cookie = join(t, r, invited, owner.Author().Device(), owner.nowMS).cookie
	owner.sync()
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	if held := heldBy(t, data, doc); held != 2 || owner.Unsent() != 0 || owner.renewed != 0 {
		t.Errorf("%d operations are there, want 2; %d unsent", held, owner.Unsent())
	}
}
