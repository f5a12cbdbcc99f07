package corefile

import (
	"bytes"
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// program calls itself deeply, makes garbage and panics, so that the runtime needs its tables.
const program = `package main

import "os"

type node struct{ left, right *node }

func tree(depth int) *node {
	if depth == 0 {
		return &node{}
	}
	return &node{tree(depth - 1), tree(depth - 1)}
}

func count(n *node) int {
	if n == nil {
		return 0
	}
	return 1 + count(n.left) + count(n.right)
}

func deep(n int) int {
	var room [64]int
	room[n%64] = n
	if n == 0 {
		return 0
	}
	return deep(n-1) + room[n%64] - n + 1
}

func caught() (said string) {
	defer func() { said = recover().(string) }()
	panic("caught")
}

func outside(of []int, at int) (said string) {
	defer func() { said = recover().(error).Error() }()
	return string(rune(of[at]))
}

func main() {
	kept := tree(10)
	for range 50 {
		tree(12)
	}
	if count(kept) == 2047 && deep(100_000) == 100_000 && caught() == "caught" &&
		outside([]int{1}, 7) == "runtime error: index out of range [7] with length 1" {
		os.Stdout.WriteString("whole")
	}
}
`

func compiled(t *testing.T) []byte {
	t.Helper()
	dir := t.TempDir()
	source, out := filepath.Join(dir, "main.go"), filepath.Join(dir, "main.wasm")
	if err := os.WriteFile(source, []byte(program), 0o600); err != nil {
		t.Fatal(err)
	}
	build := exec.Command("go", "build", "-ldflags", "-s -w", "-o", out, source)
	build.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "GOFLAGS=-mod=mod")
	if text, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	file, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// TestStrip_RunsAlike: deep calls, garbage and recovered panics work without names and lines.
func TestStrip_RunsAlike(t *testing.T) {
	file := compiled(t)
	if !bytes.Contains(file, []byte("main.caught")) {
		t.Fatal("the compiler's file has no names to begin with")
	}
	bare, err := strip(file)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(bare, []byte("main.caught")) || len(bare) != len(file) {
		t.Error("names are still there, or the size changed")
	}
	ctx := context.Background()
	runtime := wazero.NewRuntime(ctx)
	defer runtime.Close(ctx)
	wasi_snapshot_preview1.MustInstantiate(ctx, runtime)
	var said bytes.Buffer
	_, err = runtime.InstantiateWithConfig(ctx, bare, wazero.NewModuleConfig().WithStdout(&said))
	if err != nil || said.String() != "whole" {
		t.Errorf("it said %q, %v", said.String(), err)
	}
}

func TestStrip_OtherFiles(t *testing.T) {
	file := compiled(t)
	at := bytes.Index(file, []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8})
	other := bytes.Clone(file)
	other[at] = 0xf0 // the table of another version
	for name, b := range map[string][]byte{
		"nothing": nil, "a head": file[:8], "half a file": file[:len(file)/2], "other table": other,
	} {
		if _, err := strip(b); !errors.Is(err, ErrLayout) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
