package main

import (
	"slices"
	"time"
)

// rounds is how often everything is measured; the median is told.
const rounds = 5

// median returns the middle value, or the mean of the two middle ones; 0 of none.
func median(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(values))
	middle := len(sorted) / 2
	if len(sorted)%2 == 1 {
		return sorted[middle]
	}
	return (sorted[middle-1] + sorted[middle]) / 2
}

// pair is what five rounds of a subject beside its peer came to.
type pair struct {
	ratio         float64 // median of the rounds' subject/peer
	subject, peer float64 // medians in nanoseconds for one unit of work
}

// beside times subject and peer in turn, so that what else the machine does meets both. Each
// returns how long one unit of its work took. One round before the five is not counted.
func beside(subject, peer func() (time.Duration, error)) (pair, error) {
	var ratios, subjects, peers []float64
	for round := range rounds + 1 {
		s, err := subject()
		if err != nil {
			return pair{}, err
		}
		p, err := peer()
		if err != nil {
			return pair{}, err
		}
		if round == 0 {
			continue
		}
		subjects, peers = append(subjects, float64(s)), append(peers, float64(p))
		ratios = append(ratios, float64(s)/float64(p))
	}
	return pair{ratio: median(ratios), subject: median(subjects), peer: median(peers)}, nil
}

// sampleTime is how long one sample repeats its work: long against the clock's grain and a
// scheduler's slice, short enough that the whole bench stays within minutes.
const sampleTime = 60 * time.Millisecond

// repeat returns a sampler: the time of one call of work, over as many as fit into sampleTime.
func repeat(work func() error) func() (time.Duration, error) {
	return func() (time.Duration, error) {
		start := time.Now()
		for n := 1; ; n++ {
			if err := work(); err != nil {
				return 0, err
			}
			if spent := time.Since(start); spent >= sampleTime {
				return spent / time.Duration(n), nil
			}
		}
	}
}
