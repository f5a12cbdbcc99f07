package symmetry_test

import (
	"math/rand/v2"
	"testing"

	"evenhold/internal/symmetry"
	"evenhold/internal/symmetry/simulated"
)

// BenchmarkCompare is one comparison of a client with 30 tests of both sides, two
// in five of them ended by the shoulder.
func BenchmarkCompare(b *testing.B) {
	m := symmetry.DefaultModel()
	trials := simulated.NewPerson(rand.New(rand.NewPCG(20260313, 0)), m, 0.2).Trials(30, 0.425)
	for b.Loop() {
		symmetry.Compare(trials, m)
	}
}
