package dossier_test

import (
	"flag"
	"os"
	"testing"
)

// TestMain keeps everyday runs the same each time; -rapid.seed and -rapid.checks ask for more.
func TestMain(m *testing.M) {
	for name, value := range map[string]string{"rapid.seed": "20260302", "rapid.checks": "60"} {
		if err := flag.Set(name, value); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
