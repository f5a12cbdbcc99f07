package backup

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"filippo.io/age"

	"evenhold/internal/sessions"
	"evenhold/server/store"
)

// noon is 2026-03-02 12:00 UTC.
var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// practice makes a data folder with a claimed practice, a key and a certificate's folder.
func practice(t *testing.T) string {
	t.Helper()
	data := t.TempDir()
	s, err := store.Open(filepath.Join(data, storeName))
	if err != nil {
		t.Fatal(err)
	}
	inv := store.Invitation{Handle: "H7", SecretMAC: []byte("mac"), Role: sessions.Owner,
		Name: "Robin Example", ExpiresMS: noon.UnixMilli() + 1}
	if err := s.AddInvitation(inv, noon.UnixMilli()); err != nil {
		t.Fatal(err)
	}
	_, err = s.Join("H7", inv.SecretMAC, store.Joining{Device: 7, Practice: "Example Practice"},
		noon.UnixMilli())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string]string{"key": "the key", "tls/authority.crt": "x",
		"addr.txt": "127.0.0.1:1", "lock": "", "setup-link.txt": "a secret",
		"started-with.conf": "addr = :1"} {
		path := filepath.Join(data, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return data
}

func make1(t *testing.T, data string, seal []age.Recipient, now time.Time) string {
	t.Helper()
	path, err := Make(data, filepath.Join(data, Backups), seal, "a test", now)
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// TestMake_CommonToolsReadIt: a backup is for this user only, holds what a practice needs and
// nothing of one run, and the standard library's own readers open it.
func TestMake_CommonToolsReadIt(t *testing.T) {
	data := practice(t)
	path := make1(t, data, nil, noon)
	if want := "evenhold-2026-03-02T120000.000Z.tar.gz"; filepath.Base(path) != want {
		t.Errorf("named %s, want %s", filepath.Base(path), want)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v; want 0600", info.Mode(), err)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	unzipped, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for archive := tar.NewReader(unzipped); ; {
		head, err := archive.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, head.Name)
	}
	want := "manifest.json key practice.db tls/authority.crt"
	if got := strings.Join(names, " "); got != want {
		t.Errorf("it holds %s, want %s", got, want)
	}
	m, err := Verify(path, data, nil)
	if err != nil || m.People != 1 || m.Devices != 1 || m.Documents != 1 || m.Operations != 1 ||
		!m.Made().Equal(noon) {
		t.Errorf("it says %+v, %v", m, err)
	}
}

// TestMake_LeavesNoWork: neither success nor failure leaves half-done files about.
func TestMake_LeavesNoWork(t *testing.T) {
	data := practice(t)
	make1(t, data, nil, noon)
	if err := os.WriteFile(filepath.Join(data, "file"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Make(data, filepath.Join(data, "file"), nil, "a test", noon); err == nil {
		t.Error("a file was taken for a folder")
	}
	if left, err := filepath.Glob(filepath.Join(data, workPrefix+"*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestMake_Sealed(t *testing.T) {
	data := practice(t)
	key, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	path := make1(t, data, []age.Recipient{key.Recipient()}, noon)
	content, err := os.ReadFile(path)
	if err != nil || bytes.Contains(content, []byte("SQLite")) || !IsSealed(path) {
		t.Errorf("%s is not sealed (%v)", path, err)
	}
	if _, err := Verify(path, data, nil); !errors.Is(err, ErrSealed) {
		t.Errorf("without a key: %v, want %v", err, ErrSealed)
	}
	other, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Verify(path, data, []age.Identity{other}); !errors.Is(err, ErrSealed) {
		t.Errorf("with another key: %v, want %v", err, ErrSealed)
	}
	if m, err := Verify(path, data, []age.Identity{key}); err != nil || m.People != 1 {
		t.Errorf("with its key: %+v, %v", m, err)
	}
}

// TestUnpack_FlippedBytes: a backup with a wrong byte at any of 50 places, or cut short, is
// refused before anything is replaced, unless what it unpacks to is what was put in.
func TestUnpack_FlippedBytes(t *testing.T) {
	data := practice(t)
	path := make1(t, data, nil, noon)
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	was, err := Verify(path, data, nil)
	if err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadFile(filepath.Join(data, storeName))
	if err != nil {
		t.Fatal(err)
	}
	dice := rand.New(rand.NewPCG(1, 2))
	harmless := 0
	for i := range 51 {
		bad := bytes.Clone(good)
		at := 10 + dice.IntN(len(bad)-10) // the first ten bytes hold a time and a system's name
		bad[at] ^= byte(1 + dice.IntN(255))
		if i == 50 {
			bad = good[:len(good)/2]
		}
		wrong := filepath.Join(t.TempDir(), filepath.Base(path))
		if err := os.WriteFile(wrong, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		if m, err := Verify(wrong, data, nil); err == nil && reflect.DeepEqual(m, was) {
			harmless++
			continue
		}
		if _, err := Restore(wrong, data, nil, noon); !errors.Is(err, ErrDamaged) {
			t.Errorf("byte %d wrong: %v, want %v", at, err, ErrDamaged)
		}
	}
	if harmless > 10 {
		t.Errorf("%d of 50 wrong bytes were harmless: what is checked?", harmless)
	}
	if after, err := os.ReadFile(filepath.Join(data, storeName)); err != nil ||
		!bytes.Equal(before, after) {
		t.Errorf("the practice file was changed (%v)", err)
	}
}

// TestRestore_KeepsWhatWasThere: the old folder's files stay, the new ones are those of the
// backup, in a new epoch, and no log of the old file lies beside the new one.
func TestRestore_KeepsWhatWasThere(t *testing.T) {
	data := practice(t)
	path := make1(t, data, nil, noon)
	for name, content := range map[string]string{"key": "a later key", storeName + "-wal": "stale"} {
		if err := os.WriteFile(filepath.Join(data, name), []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	was, err := Verify(path, data, nil)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := Restore(path, data, nil, noon.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	for file, want := range map[string]string{filepath.Join(kept, "key"): "a later key",
		filepath.Join(data, "key"): "the key"} {
		if got, err := os.ReadFile(file); err != nil || string(got) != want {
			t.Errorf("%s holds %q, %v; want %q", file, got, err, want)
		}
	}
	if _, err := os.Stat(filepath.Join(data, storeName+"-wal")); err == nil {
		t.Error("a log of another file lies beside the practice file")
	}
	facts, err := store.Read(filepath.Join(data, storeName))
	if err != nil || facts.Epoch == was.Epoch || facts.Practice != was.Practice {
		t.Errorf("restored %+v, %v; was %+v", facts, err, was.Facts)
	}
	if err := CheckFinished(data); err != nil {
		t.Errorf("after all: %v", err)
	}
}

// TestRestore_IntoNothing: a trial goes into a new folder. Nothing was there, so nothing is kept,
// and nothing is said to be.
func TestRestore_IntoNothing(t *testing.T) {
	path, trial := make1(t, practice(t), nil, noon), t.TempDir()
	kept, err := Restore(path, trial, nil, noon)
	if err != nil || kept != "" {
		t.Errorf("kept %q, %v", kept, err)
	}
	left, err := filepath.Glob(filepath.Join(trial, replacedPrefix+"*"))
	if err != nil || left != nil {
		t.Errorf("%v are left, %v", left, err)
	}
	if _, err := store.Read(filepath.Join(trial, storeName)); err != nil {
		t.Error(err)
	}
}

// TestRestore_CutOff: a folder in which a restore was cut off is not served; given again, the
// command finishes it.
func TestRestore_CutOff(t *testing.T) {
	data := practice(t)
	path := make1(t, data, nil, noon)
	if err := os.WriteFile(filepath.Join(data, unfinishedName), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(data, storeName)); err != nil {
		t.Fatal(err)
	}
	if err := CheckFinished(data); !errors.Is(err, ErrUnfinished) {
		t.Errorf("half-way: %v, want %v", err, ErrUnfinished)
	}
	if _, err := Restore(path, data, nil, noon); err != nil {
		t.Fatal(err)
	}
	if err := CheckFinished(data); err != nil {
		t.Errorf("given again: %v", err)
	}
}

func TestPrune(t *testing.T) {
	data := practice(t)
	to := filepath.Join(data, Backups)
	for i := range 4 {
		make1(t, data, nil, noon.Add(time.Duration(i)*24*time.Hour))
	}
	if err := os.WriteFile(filepath.Join(to, "a note of my own"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if gone, err := Prune(to, 2); err != nil || gone != 2 {
		t.Errorf("removed %d, %v; want 2", gone, err)
	}
	if gone, err := Prune(to, 0); err != nil || gone != 1 {
		t.Errorf("keeping none removed %d, %v; want 1: the last one stays", gone, err)
	}
	if last, err := Last(to); err != nil || !last.Equal(noon.Add(3*24*time.Hour)) {
		t.Errorf("the last is of %v, %v", last, err)
	}
	if _, err := os.Stat(filepath.Join(to, "a note of my own")); err != nil {
		t.Errorf("what is no backup went: %v", err)
	}
}
