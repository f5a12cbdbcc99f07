// Package corefile makes the WebAssembly file that phones download.
package corefile

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// Compile builds the package as a WASI reactor and returns the WebAssembly file; root is the
// module's folder. Inlining is off in the screens, the calculations and the conversation with the
// server, where it makes the file larger and nothing that a person notices faster; what opens and
// merges records keeps it.
func Compile(root, pkg string) ([]byte, error) {
	dir, err := os.MkdirTemp("", "evenhold-core-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	library, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, fmt.Errorf("ask for the folder of Go: %w", err)
	}
	overlay, err := spare(filepath.Join(string(bytes.TrimSpace(library)), "src"), dir)
	if err != nil {
		return nil, err
	}
	out := filepath.Join(dir, "core.wasm")
	cmd := exec.Command("go", "build", "-buildmode=c-shared", "-trimpath", "-buildvcs=false",
		"-ldflags", "-s -w", "-overlay", overlay,
		"-gcflags", "evenhold/pwa/...=-l", "-gcflags", "evenhold/internal/...=-l",
		"-gcflags", "evenhold/sync/exchange=-l", "-o", out, pkg)
	cmd.Dir = root
	// The newer collector costs 13 kB of brotli and gains nothing on one thread.
	cmd.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "CGO_ENABLED=0",
		"GOEXPERIMENT=nogreenteagc")
	if text, err := cmd.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("compile the core: %w\n%s", err, text)
	}
	program, err := os.ReadFile(out)
	if err != nil {
		return nil, err
	}
	return strip(program)
}
