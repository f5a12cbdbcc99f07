package main

import (
	"bytes"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

var twice = flag.Bool("server.twice", false, "build the program twice and compare")

// TestBuild_Reproducible builds the program out of two folders: with -trimpath nothing of where it
// was built may be in it, or nobody could check a binary against its sources ("Reproducible
// Builds", definition: "bit-by-bit identical copies of all specified artifacts").
func TestBuild_Reproducible(t *testing.T) {
	if !*twice {
		t.Skip("two whole builds take minutes: with -server.twice")
	}
	folders := []string{filepath.Join(t.TempDir(), "here"), filepath.Join(t.TempDir(), "there")}
	for _, folder := range folders { // both before the first build: somebody may be at work here
		if err := os.CopyFS(filepath.Join(folder, "server"), os.DirFS(".")); err != nil {
			t.Fatal(err)
		}
		for _, part := range []string{"go.mod", "go.sum", "internal", "sync", "pwa"} {
			whole, err := filepath.Abs(filepath.Join("..", part))
			if err != nil {
				t.Fatal(err)
			}
			copyPart(t, whole, filepath.Join(folder, part))
		}
	}
	var first []byte
	for _, folder := range folders {
		program := filepath.Join(folder, "evenhold")
		build := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-o", program, "./server")
		build.Dir = folder
		// A cache of its own each: C that was compiled once would be compared with itself.
		build.Env = append(os.Environ(), "GOCACHE="+filepath.Join(folder, "cache"))
		if text, err := build.CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		content, err := os.ReadFile(program)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(content, []byte(folder)) {
			t.Errorf("the program says that it was built in %s", folder)
		}
		if first == nil {
			first = content
		} else if !bytes.Equal(first, content) {
			t.Error("two folders, two programs")
		}
	}
}

// copyPart copies a file, or of a folder what the build of the server reads.
func copyPart(t *testing.T, from, to string) {
	t.Helper()
	info, err := os.Stat(from)
	if err != nil {
		t.Fatal(err)
	}
	if !info.IsDir() {
		copyFile(t, from, to)
		return
	}
	if err := os.MkdirAll(to, 0o700); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(from)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Name() != "node_modules" && e.Name() != ".tests" && e.Name() != "shots" {
			copyPart(t, filepath.Join(from, e.Name()), filepath.Join(to, e.Name()))
		}
	}
}
