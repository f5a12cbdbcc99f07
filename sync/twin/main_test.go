package twin_test

import (
	"flag"
	"os"
	"testing"
)

// TestMain fixes the seed of the property tests, so that a red run is the same
// run again; the flag of the same name on the command line still wins.
func TestMain(m *testing.M) {
	if err := flag.Set("rapid.seed", "1"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}
