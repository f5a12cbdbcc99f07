package boundary_test

import (
	"flag"
	"os"
	"testing"
)

// TestMain fixes the seed and the rounds of the property tests; the flags of the
// same names on the command line still win.
func TestMain(m *testing.M) {
	for name, value := range map[string]string{"rapid.seed": "1", "rapid.checks": "300"} {
		if err := flag.Set(name, value); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
