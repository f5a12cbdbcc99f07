package durable

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// TestWrite: the file is whole, for this user only, in place of an earlier one, and no draft stays;
// where it cannot be written the earlier one stays. The order of the calls is held by the tests of
// the whole program.
func TestWrite(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "file")
	for _, text := range []string{"a first and longer text", "another"} {
		if err := Write(path, []byte(text)); err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != text {
			t.Errorf("%q, %v; want %q", got, err, text)
		}
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	taken := filepath.Join(folder, "folder")
	if err := os.MkdirAll(filepath.Join(taken, "full"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := Write(taken, []byte("in a folder's place")); err == nil {
		t.Error("a folder was replaced")
	}
	if entries, err := os.ReadDir(folder); err != nil || len(entries) != 2 {
		t.Errorf("%v, %v: a draft stayed", entries, err)
	}
}

func TestFolder(t *testing.T) {
	outer := t.TempDir()
	path := filepath.Join(outer, "one", "two", "three")
	for range 2 {
		if err := Folder(path); err != nil {
			t.Fatal(err)
		}
	}
	if info, err := os.Stat(path); err != nil || !info.IsDir() || info.Mode().Perm() != 0o700 {
		t.Errorf("%v, %v", info, err)
	}
	file := filepath.Join(outer, "file")
	if err := Write(file, nil); err != nil {
		t.Fatal(err)
	}
	if err := Folder(file); !errors.Is(err, fs.ErrExist) {
		t.Errorf("where a file is: %v", err)
	}
	if err := Folder(filepath.Join(file, "in")); !errors.Is(err, syscall.ENOTDIR) &&
		!errors.Is(err, fs.ErrExist) {
		t.Errorf("in a file: %v", err)
	}
}
