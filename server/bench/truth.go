package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"evenhold/internal/symmetry"
	"evenhold/internal/symmetry/simulated"
)

// What is asked of the answers about two sides, in percent: that intervals of 90 % hold for
// 86 to 94 of 100 people, and that at most 5 of 100 truly even people are called uneven.
const (
	coverageOff = 4
	unevenMost  = 5
)

// truths asks about invented people whose truth is known; TestIntervalCoverage and
// TestEvenPeopleAreSeldomCalledUneven hold the same crowds. The worst crowd is the figure.
func truths(*bench) ([]row, error) {
	m := symmetry.DefaultModel()
	var off, uneven float64
	var covered, called []string
	people := 0
	for i, crowd := range simulated.Varied() {
		tally := crowd.Ask(rand.New(rand.NewPCG(20260301, uint64(i))), m)
		share := crowd.Share(tally.Covered)
		off, people = max(off, math.Abs(share-90)), crowd.People
		covered = append(covered, fmt.Sprintf("%s: %.1f", crowd.Name, share))
	}
	for i, crowd := range simulated.Even() {
		tally := crowd.Ask(rand.New(rand.NewPCG(20260302, uint64(i))), m)
		share := crowd.Share(tally.Uneven)
		uneven = max(uneven, share)
		called = append(called, fmt.Sprintf("%s: %.2f", crowd.Name, share))
	}
	told := func(shares []string) string {
		return fmt.Sprintf("%d simulated people each; %s", people, strings.Join(shares, "; "))
	}
	return []row{
		limited("sides, 90 % intervals, coverage off by at most", off, "points", coverageOff,
			told(covered)),
		limited("sides, even people called uneven, at most", uneven, "%", unevenMost, told(called)),
	}, nil
}
