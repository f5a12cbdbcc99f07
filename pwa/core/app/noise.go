package app

import (
	"evenhold/internal/planning"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// retests are one record's repeated tests, kept until the record changes.
type retests struct {
	n   int
	all []symmetry.Retest
}

// testNoise is the test noise that this phone goes by: the published one, drawn towards
// what repeated tests of all the records on this phone show.
func (a *App) testNoise() symmetry.Noise {
	var all []symmetry.Retest
	isNew := a.noise.Model.Level == 0
	for _, d := range a.docs() {
		kept, found := a.retests[d.ID()]
		if !found || kept.n != d.Len() {
			kept = retests{n: d.Len(), all: planning.Retests(d)}
			a.retests[d.ID()] = kept
			isNew = true
		}
		all = append(all, kept.all...)
	}
	if isNew {
		was := a.noise.Model.TrialSD
		a.noise = symmetry.NoiseOf(all, symmetry.DefaultModel())
		if a.noise.Model.TrialSD != was {
			a.cache = map[record.ID]summary{} // every finding leans on the noise
		}
	}
	return a.noise
}
