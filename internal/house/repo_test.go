package house

import (
	"bytes"
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// root is the top of the repository, from this package's folder.
const root = "../.."

const module = "evenhold/"

// pkg is what go list says of one package.
type pkg struct {
	ImportPath string
	Dir        string
	GoFiles    []string
	Imports    []string
}

// path is the package's place in the repository, such as "sync/record".
func (p pkg) path() string { return strings.TrimPrefix(p.ImportPath, module) }

// list runs go list at the top of the repository, for this machine or for the
// phone.
func list(t *testing.T, forPhone bool, args ...string) []pkg {
	t.Helper()
	out := run(t, forPhone, "go", append([]string{"list", "-json"}, args...)...)
	var all []pkg
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p pkg
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	if len(all) == 0 {
		t.Fatalf("go list %v names no package", args)
	}
	return all
}

func run(t *testing.T, forPhone bool, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Dir = root
	cmd.Env = os.Environ()
	if forPhone {
		cmd.Env = append(cmd.Env, "GOOS=wasip1", "GOARCH=wasm")
	}
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, said.Bytes())
	}
	return out
}

// sources returns the project's files that end in one of those ways: those that
// git keeps, and those that are new and not ignored. Paths are from the top, with
// slashes.
func sources(t *testing.T, endings ...string) []string {
	t.Helper()
	if _, err := os.Stat(filepath.Join(root, ".git")); err != nil {
		t.Skip("not a git checkout: which files are the project's is not known")
	}
	out := run(t, false, "git", "ls-files", "-z", "--cached", "--others", "--exclude-standard")
	var all []string
	folders := map[string]bool{}
	for file := range strings.SplitSeq(strings.TrimSuffix(string(out), "\x00"), "\x00") {
		if _, err := os.Lstat(filepath.Join(root, file)); errors.Is(err, fs.ErrNotExist) {
			continue // taken away, and not committed yet
		}
		folders[filepath.Dir(filepath.Join(root, file))] = true
		for _, ending := range endings {
			if strings.HasSuffix(file, ending) {
				all = append(all, file)
				break
			}
		}
	}
	// go test keeps a result until a file or folder that the test itself opened has
	// changed. It does not see what git read: without this, a new file would pass.
	for folder := range folders {
		if _, err := os.ReadDir(folder); err != nil {
			t.Fatal(err)
		}
	}
	if len(all) == 0 {
		t.Fatalf("no file ends in %v: the list is broken", endings)
	}
	return all
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(root, path))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// parse reads one Go file; src may be nil for a file of the repository.
func parse(t *testing.T, path string, src []byte) (*token.FileSet, *ast.File) {
	t.Helper()
	if src == nil {
		src = read(t, path)
	}
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, path, src, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	return files, file
}

// isUnder reports whether path is one of those places or lies below it.
func isUnder(path string, places ...string) bool {
	for _, place := range places {
		if path == place || strings.HasPrefix(path, place+"/") {
			return true
		}
	}
	return false
}

func isTest(path string) bool { return strings.HasSuffix(path, "_test.go") }
