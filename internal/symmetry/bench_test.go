package symmetry_test

import (
	"math/rand/v2"
	"testing"

	"evenhold/internal/symmetry"
)

// BenchmarkCompare is one comparison of a client with 30 tests of both sides, two
// in five of them ended by the shoulder.
func BenchmarkCompare(b *testing.B) {
	m := symmetry.DefaultModel()
	trials := newPerson(rand.New(rand.NewPCG(20260313, 0)), m, 0.2).trials(30, 0.425)
	for b.Loop() {
		symmetry.Compare(trials, m)
	}
}
