package house

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var known = flag.String("house.known", "", "folder with the Go project's list of known faults")

// scan looks through the packages in a folder for calls of what is known to be at fault, and
// returns govulncheck's exit code (3: it found some; "Command govulncheck", Go documentation).
func scan(t *testing.T, folder string, env []string, packages string) (int, string) {
	t.Helper()
	list, err := filepath.Abs(*known)
	if err != nil {
		t.Fatal(err)
	}
	look := exec.Command("govulncheck", "-db", "file://"+filepath.ToSlash(list), packages)
	look.Dir, look.Env = folder, append(os.Environ(), env...)
	text, err := look.CombinedOutput()
	var ended *exec.ExitError
	if err != nil && !errors.As(err, &ended) {
		t.Fatal(err)
	}
	return look.ProcessState.ExitCode(), string(text)
}

// TestKnownFaults: nothing that the server or the phone's core calls is in the list of known
// faults, neither in a module nor in the release of Go that the container file builds with. That
// such a fault would be found is seen on a module made for it: golang.org/x/text before 0.3.7
// crashes at a language tag made for that (CVE-2021-38561).
func TestKnownFaults(t *testing.T) {
	if *known == "" {
		t.Skip("no list of known faults; scripts/test -long fetches it")
	}
	made := t.TempDir()
	err := os.WriteFile(filepath.Join(made, "main.go"), []byte("package main\n\n"+
		"import \"golang.org/x/text/language\"\n\n"+
		"func main() { _, _ = language.Parse(\"en\") }\n"), 0o600)
	if err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"mod", "init", "made"}, {"get", "golang.org/x/text@v0.3.6"}} {
		begin := exec.Command("go", args...)
		begin.Dir = made
		if text, err := begin.CombinedOutput(); err != nil {
			t.Fatalf("%v: %v\n%s", args, err, text)
		}
	}
	if code, text := scan(t, made, nil, "."); code != 3 || !strings.Contains(text, "GO-2021-0113") {
		t.Errorf("a known fault is not found: %d\n%s", code, text)
	}
	base := regexp.MustCompile(`(?m)^FROM golang:(\d+\.\d+\.\d+)-`).FindSubmatch(
		read(t, "server/container/Containerfile"))
	if base == nil {
		t.Fatal("the container file names no release of Go")
	}
	release := "GOTOOLCHAIN=go" + string(base[1])
	for packages, env := range map[string][]string{
		"./...":      {release},
		"./pwa/core": {release, "GOOS=wasip1", "GOARCH=wasm", "CGO_ENABLED=0"},
	} {
		if code, text := scan(t, root, env, packages); code != 0 {
			t.Errorf("%s: %d; take the release of the module, or of Go, that mends it\n%s", packages,
				code, text)
		}
	}
}
