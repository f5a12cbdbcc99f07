package house

import (
	"slices"
	"strings"
	"testing"
)

// TestPartsAreVerified: the tests begin with a comparison of every module with go.sum, and the
// app's packages are installed by the lock file or not at all. Both end the script that calls them.
func TestPartsAreVerified(t *testing.T) {
	for _, gate := range []struct{ script, ends, call string }{
		{"scripts/test", "set -euo pipefail", "go mod verify"},
		{"scripts/build", "set -eu", "(cd pwa && npm ci --silent)"},
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
