package house

import (
	"slices"
	"strings"
	"testing"
)

// TestPartsAreVerified: the tests begin with a comparison of every module with go.sum and of go.mod
// with what is imported, and the app's packages are installed by the lock file or not at all. Each
// ends the script that calls it.
func TestPartsAreVerified(t *testing.T) {
	for _, gate := range []struct{ script, ends, call string }{
		{"scripts/test", "set -euo pipefail", "go mod verify"},
		{"scripts/test", "set -euo pipefail",
			"go mod tidy -diff # go.mod lists what is used, and go.sum all that a test may need"},
		{"scripts/build", "set -eu", "(cd pwa && npm ci --silent)"},
		{"scripts/test", "set -euo pipefail", "(cd server/dossier/outside && npm ci --silent)"},
	} {
		var lines []string
		for line := range strings.Lines(string(read(t, gate.script))) {
			lines = append(lines, strings.TrimSpace(line))
		}
		ends, call := slices.Index(lines, gate.ends), slices.Index(lines, gate.call)
		if ends < 0 || call < ends {
			t.Errorf("%s: %q on line %d, %q on line %d; want both, in this order", gate.script,
				gate.ends, ends+1, gate.call, call+1)
		}
	}
}
