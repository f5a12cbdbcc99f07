package reference_test

import "math/rand/v2"

// source is a seeded stream of numbers, so that every run is the same run.
func source(seed uint64) rand.Source { return rand.NewPCG(seed, 1) }
