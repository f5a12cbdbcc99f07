package house

import (
	"fmt"
	"go/ast"
	"go/token"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// pure lists the places that know no clock, disk, network, screen, goroutine or
// randomness: the same input gives the same output on a phone and on the server.
var pure = []string{"sync", "internal"}

// allowed is all that a pure package may import from outside the repository, with
// the reason. Anything else needs a line here and a reason that holds on a phone.
var allowed = map[string]string{
	"bytes":                       "plain values",
	"cmp":                         "plain values",
	"errors":                      "plain values",
	"maps":                        "plain values; sort the keys where order can show",
	"iter":                        "plain values",
	"slices":                      "plain values",
	"sort":                        "plain values",
	"strconv":                     "plain values, and small where fmt is not",
	"strings":                     "plain values",
	"unicode/utf8":                "plain values",
	"unicode/utf16":               "plain values",
	"math":                        "plain values",
	"math/bits":                   "plain values",
	"encoding/binary":             "plain values: frames and snapshots",
	"hash/crc32":                  "plain values: a torn snapshot is found out",
	"golang.org/x/crypto/blake2s": "plain values: the hash chain of a device",
	"embed":                       "published tables and ladders, read when the program is built",
	"time":                        "for Duration only; what reads or waits is found below",
}

// allowedHere is what one pure package alone may import, with the reason.
var allowedHere = map[string]map[string]string{
	"internal/boundary": {"reflect": "reads the page's answers: encoding/json is larger"},
	"sync/sim":          {"fmt": "the report of a simulated run; no part of it is on the phone"},
}

// banned says why, and what to do instead, for the imports that are most likely
// to be tried. A ban holds for what lies below the path too.
var banned = map[string]string{
	"net":          "the network is the server's and the page's: take bytes, return bytes",
	"os":           "the disk is the caller's: take bytes, return bytes, or embed a table",
	"io":           "streams have hidden failures: take bytes, return bytes",
	"path":         "files are the caller's: take bytes, return bytes",
	"database":     "storage is the server's and the page's: return operations to store",
	"syscall":      "the phone has no such calls; its one door is pwa/core",
	"math/rand":    "the same input must give the same output: take random bytes as an argument",
	"crypto/rand":  "the same input must give the same output: take random bytes as an argument",
	"log":          "nobody reads a log on a phone: return an error or a value",
	"sync":         "no goroutine, so nothing to lock: say in the package doc who may call",
	"context":      "nothing here waits: return at once",
	"plugin":       "what runs is decided when the program is built",
	"runtime":      "the same input must give the same output on every machine",
	"unsafe":       "only the entry in pwa/core touches the page's memory",
	"fmt":          "heavy on a phone: use strconv, and errors with fields",
	"encoding":     "heavy on a phone: use internal/boundary or encoding/binary",
	"regexp":       "heavy on a phone: use strings",
	"text":         "heavy on a phone: words are message keys, the page fills them in",
	"html":         "heavy on a phone: words are message keys, the page fills them in",
	"testing":      "tests belong in files that end in _test.go",
	"pgregory.net": "tests belong in files that end in _test.go",
}

// importFault says what is wrong with an import of a pure package, "" if nothing.
// Imports within the repository are for the arrows.
func importFault(from, imported string) string {
	if strings.HasPrefix(imported, module) {
		return ""
	}
	if _, ok := allowed[imported]; ok {
		return ""
	}
	if _, ok := allowedHere[from][imported]; ok {
		return ""
	}
	for _, place := range sortedKeys(banned) {
		if isUnder(imported, place) {
			return banned[place]
		}
	}
	return "not among the allowed imports of pure packages: add it with a reason, or do without"
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func TestPureImports(t *testing.T) {
	used := map[string]bool{}
	for _, p := range list(t, false, "./sync/...", "./internal/...") {
		for _, imported := range p.Imports {
			used[imported] = true
			used[p.path()+" "+imported] = true
			if fault := importFault(p.path(), imported); fault != "" {
				t.Errorf("%s imports %s: %s", p.path(), imported, fault)
			}
		}
	}
	for _, imported := range sortedKeys(allowed) {
		if !used[imported] {
			t.Errorf("no pure package imports %s any more: take it off the list", imported)
		}
	}
	for from, own := range allowedHere {
		for imported := range own {
			if !used[from+" "+imported] {
				t.Errorf("%s no longer imports %s: take it off the list", from, imported)
			}
		}
	}
}

// TestImportFault tries the rule on imports that must be refused, so that a hole
// in it is seen.
func TestImportFault(t *testing.T) {
	for _, imported := range []string{
		"net", "net/http", "net/url", "os", "os/exec", "io", "io/fs", "path/filepath",
		"database/sql", "syscall", "syscall/js", "math/rand", "math/rand/v2", "crypto/rand", "log",
		"log/slog", "plugin", "sync", "sync/atomic", "context", "runtime", "unsafe", "fmt",
		"encoding/json", "reflect", "regexp", "text/template", "html/template", "example.com/x",
	} {
		if importFault("sync/record", imported) == "" {
			t.Errorf("sync/record may import %s", imported)
		}
	}
	for _, from := range []string{"sync/record", "internal/boundary"} {
		if fault := importFault(from, "strings"); fault != "" {
			t.Errorf("%s may not import strings: %s", from, fault)
		}
	}
	if fault := importFault("internal/boundary", "reflect"); fault != "" {
		t.Errorf("internal/boundary may not import reflect: %s", fault)
	}
}

// clockCalls are the names of package time that read the clock or wait for it.
var clockCalls = []string{
	"Now", "Since", "Until", "After", "AfterFunc", "Sleep", "NewTimer", "NewTicker", "Tick",
	"Local", "LoadLocation",
}

// callFaults returns what a file of a pure package must not do.
func callFaults(files *token.FileSet, file *ast.File) []string {
	var faults []string
	add := func(at ast.Node, why string) {
		faults = append(faults, fmt.Sprintf("%s: %s", files.Position(at.Pos()), why))
	}
	clock := ""
	for _, spec := range file.Imports {
		path, err := strconv.Unquote(spec.Path.Value)
		isNamed := spec.Name != nil
		switch {
		case err != nil || isNamed && spec.Name.Name == ".":
			add(spec, "a dot import hides where a name is from: name the package")
		case path == "time" && isNamed:
			clock = spec.Name.Name
		case path == "time":
			clock = "time"
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.SelectorExpr:
			x, ok := n.X.(*ast.Ident)
			if ok && clock != "" && x.Name == clock && slices.Contains(clockCalls, n.Sel.Name) {
				add(n, "time."+n.Sel.Name+" reads or waits for a clock: take the time as an argument")
			}
		case *ast.GoStmt:
			add(n, "a goroutine has no fixed order: do one thing after another")
		case *ast.ChanType, *ast.SelectStmt:
			add(n, "a channel has no fixed order: return values")
		case *ast.CallExpr:
			if x, ok := n.Fun.(*ast.Ident); ok && (x.Name == "print" || x.Name == "println") {
				add(n, x.Name+" writes to the screen: return values")
			}
		}
		return true
	})
	return faults
}

func TestPureCalls(t *testing.T) {
	seen := 0
	for _, path := range sources(t, ".go") {
		if !isUnder(path, pure...) || isTest(path) {
			continue
		}
		seen++
		for _, fault := range callFaults(parse(t, path, nil)) {
			t.Error(fault)
		}
	}
	if seen < 50 {
		t.Errorf("only %d files were read", seen)
	}
}

func TestCallFaults(t *testing.T) {
	tests := []struct {
		name, src string
		want      int
	}{
		{"a duration", `import "time"; const d = time.Second`, 0},
		{"the clock", `import "time"; var x = time.Now()`, 1},
		{"the clock as a value", `import "time"; var x = time.Now`, 1},
		{"the clock renamed", `import clock "time"; var x = clock.Since(y)`, 1},
		{"waiting", `import "time"; func f() { time.Sleep(1); <-time.After(1) }`, 2},
		{"a timer", `import "time"; var x, y = time.NewTimer(1), time.NewTicker(1)`, 2},
		{"a name of its own", `type c struct{}; func (c) Now() {}; var time c; var x = time.Now`, 0},
		{"a dot import", `import . "time"`, 1},
		{"a goroutine", `func f() { go f() }`, 1},
		{"a channel", `var c chan int; func f() { select {} }`, 2},
		{"the screen", `func f() { println("x") }`, 1},
	}
	for _, tt := range tests {
		files, file := parse(t, "example.go", []byte("package x; "+tt.src))
		if got := callFaults(files, file); len(got) != tt.want {
			t.Errorf("%s: %d faults, want %d: %v", tt.name, len(got), tt.want, got)
		}
	}
}
