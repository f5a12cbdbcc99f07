package sim_test

import (
	"flag"
	"runtime"
	"sync"
	"testing"

	"evenhold/sync/sim"
)

var (
	seeds = flag.Int("sim.seeds", 2000, "how many runs to simulate")
	first = flag.Uint64("sim.first", 0, "seed of the first run")
)

const steps = 120

// TestRun_X12_Invariants plays many runs and checks that they met what they are for: a
// simulation without conflicts, refusals or crashes proves nothing. To play one failing seed
// again: -sim.first=SEED -sim.seeds=1.
func TestRun_X12_Invariants(t *testing.T) {
	work := make(chan uint64)
	var wait sync.WaitGroup
	var lock sync.Mutex
	var all sim.Counts
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for seed := range work {
				counts, err := sim.Run(seed, steps)
				lock.Lock()
				if err != nil {
					t.Error(err)
				}
				all.Add(counts)
				lock.Unlock()
			}
		})
	}
	for i := range *seeds {
		work <- *first + uint64(i)
	}
	close(work)
	wait.Wait()
	t.Logf("%d runs: %+v", *seeds, all)
	if *seeds < 100 {
		return
	}
	for name, n := range all.Met() {
		if n < *seeds/10 {
			t.Errorf("%d runs met only %d times: %s", *seeds, n, name)
		}
	}
}

// TestRun_X12_Replays: one seed is one run.
func TestRun_X12_Replays(t *testing.T) {
	for seed := range uint64(20) {
		a, errA := sim.Run(seed, steps)
		b, errB := sim.Run(seed, steps)
		if a != b || (errA == nil) != (errB == nil) {
			t.Errorf("seed %d: %+v, %v and then %+v, %v", seed, a, errA, b, errB)
		}
	}
}
