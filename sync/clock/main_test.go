package clock_test

import (
	"flag"
	"os"
	"testing"

	_ "pgregory.net/rapid" // registers the flag
)

// TestMain fixes the seed of the property tests, so that a red run is the same run again. To
// try others: -rapid.seed=N.
func TestMain(m *testing.M) {
	if err := flag.Set("rapid.seed", "1"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}
