package sim_test

import (
	"flag"
	"testing"

	"evenhold/sync/sim"
)

var seeds = flag.Int("sim.seeds", 2000, "how many runs to simulate")

func TestRun_X1_Invariants(t *testing.T) {
	var all sim.Counts
	for seed := range *seeds {
		counts, err := sim.Run(uint64(seed), 120)
		if err != nil {
			t.Fatal(err)
		}
		all.Add(counts)
	}
	t.Logf("%+v", all)
}
