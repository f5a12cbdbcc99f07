package house

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/build"
	"go/token"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// What fits a screen, and a person's head.
const (
	mostFileLines = 600
	mostFuncLines = 60
	mostColumns   = 100
)

// longLines is how many lines of a file may be longer than mostColumns. It may
// only shrink: a number that is no longer needed fails the test, and so does a
// file that is no longer there. Nothing is to be added.
var longLines = map[string]int{}

// longFunctions is how many functions of a file may be longer than mostFuncLines.
// It may only shrink, as longLines.
var longFunctions = map[string]int{}

// tooLong returns the numbers of the lines longer than mostColumns.
func tooLong(data []byte) []string {
	var long []string
	n := 0
	for line := range bytes.Lines(data) {
		n++
		if utf8.RuneCount(bytes.TrimRight(line, "\r\n")) > mostColumns {
			long = append(long, strconv.Itoa(n))
		}
	}
	return long
}

// exceed compares what is too long in each file with what may be. An exception
// that is no longer needed is a fault too.
func exceed(t *testing.T, what string, may map[string]int, found map[string][]string) {
	t.Helper()
	for file, long := range found {
		if len(long) > may[file] {
			t.Errorf("%s: too long are %s %v, and %d may be: break them up",
				file, what, long, may[file])
		}
	}
	for file, n := range may {
		if len(found[file]) < n {
			t.Errorf("%s: %d %s are too long, the exception says %d: lower it",
				file, len(found[file]), what, n)
		}
	}
}

func TestLines(t *testing.T) {
	found := map[string][]string{}
	for _, file := range sources(t, ".go") {
		found[file] = tooLong(read(t, file))
	}
	exceed(t, "lines", longLines, found)
}

func TestFileLengths(t *testing.T) {
	for _, file := range sources(t, ".go", ".ts", ".tsx", ".mjs", ".css", ".sql") {
		if n := bytes.Count(read(t, file), []byte("\n")); n > mostFileLines {
			t.Errorf("%s has %d lines, at most %d: split it by what it is about",
				file, n, mostFileLines)
		}
	}
}

// longFuncs returns the functions of a file longer than mostFuncLines.
func longFuncs(files *token.FileSet, file *ast.File) []string {
	var long []string
	for _, decl := range file.Decls {
		f, ok := decl.(*ast.FuncDecl)
		if !ok {
			continue
		}
		if n := files.Position(f.End()).Line - files.Position(f.Pos()).Line + 1; n > mostFuncLines {
			long = append(long, fmt.Sprintf("%s of %d lines", f.Name.Name, n))
		}
	}
	return long
}

func TestFunctionLengths(t *testing.T) {
	found := map[string][]string{}
	for _, file := range sources(t, ".go") {
		found[file] = longFuncs(parse(t, file, nil))
	}
	exceed(t, "functions", longFunctions, found)
}

// TestPackageDocs asks each package for exactly one doc, in each build in which
// it has files: one for this machine, one for the phone.
func TestPackageDocs(t *testing.T) {
	phone := build.Default
	phone.GOOS, phone.GOARCH, phone.CgoEnabled = "wasip1", "wasm", false
	builds := map[string]build.Context{"here": build.Default, "on the phone": phone}
	folders := map[string][]string{}
	for _, file := range sources(t, ".go") {
		if !isTest(file) {
			folders[path.Dir(file)] = append(folders[path.Dir(file)], file)
		}
	}
	for folder, files := range folders {
		for name, ctx := range builds {
			built, docs := 0, 0
			for _, file := range files {
				isBuilt, err := ctx.MatchFile(filepath.Join(root, folder), path.Base(file))
				if err != nil {
					t.Fatal(err)
				}
				if !isBuilt {
					continue
				}
				built++
				docs += packageDocs(t, file)
			}
			if built > 0 && docs != 1 {
				t.Errorf("%s %s has %d package docs, want one: what it is for, what it promises, units",
					folder, name, docs)
			}
		}
	}
}

// packageDocs returns 1 for a file with a package doc that begins as one does.
func packageDocs(t *testing.T, file string) int {
	t.Helper()
	_, parsed := parse(t, file, nil)
	if parsed.Doc == nil {
		return 0
	}
	words := "Package " + parsed.Name.Name + " "
	if parsed.Name.Name == "main" {
		words = "Command "
	}
	if !strings.HasPrefix(parsed.Doc.Text(), words) {
		t.Errorf("%s: the package doc begins otherwise than %q", file, words)
	}
	return 1
}

// TestShapeFaults tries the measures on what is just allowed and just not.
func TestShapeFaults(t *testing.T) {
	line := strings.Repeat("ä", mostColumns)
	if long := tooLong([]byte(line + "\n" + line + "x\nshort")); len(long) != 1 || long[0] != "2" {
		t.Errorf("long lines: %v, want the second", long)
	}
	for extra, want := range map[int]int{0: 0, 1: 1} {
		body := strings.Repeat("\n", mostFuncLines-1+extra)
		files, file := parse(t, "example.go", []byte("package x\nfunc f() {"+body+"}\n"))
		if got := longFuncs(files, file); len(got) != want {
			t.Errorf("%d lines over: %d faults, want %d", extra, len(got), want)
		}
	}
	if _, err := os.Stat(filepath.Join(root, "go.mod")); err != nil {
		t.Errorf("the walk does not start at the top of the repository: %v", err)
	}
}
