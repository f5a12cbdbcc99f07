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

// sampler measures once: nanoseconds for one unit of its work.
type sampler func() (ns float64, err error)

// pair is what five rounds of a subject beside its peer came to.
type pair struct {
	ratio         float64 // median of the rounds' subject/peer
	subject, peer float64 // medians in nanoseconds
}

// beside samples subject and peer in turn, so that what else the machine does meets both. One
// round before the five is not counted.
func beside(subject, peer sampler) (pair, error) {
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
		subjects, peers, ratios = append(subjects, s), append(peers, p), append(ratios, s/p)
	}
	return pair{ratio: median(ratios), subject: median(subjects), peer: median(peers)}, nil
}

// medianOf returns the median of five samples, in nanoseconds for one unit.
func medianOf(sample sampler) (float64, error) {
	var all []float64
	for range rounds {
		ns, err := sample()
		if err != nil {
			return 0, err
		}
		all = append(all, ns)
	}
	return median(all), nil
}

// sampleTime is how long one sample repeats its work: long against the clock's grain and a
// scheduler's slice, short enough that the whole bench stays within minutes.
const sampleTime = 60 * time.Millisecond

// repeat samples work, of so many units a call, as often as fits into sampleTime.
func repeat(units int, work func() error) sampler {
	return func() (float64, error) {
		start := time.Now()
		for n := 1; ; n++ {
			if err := work(); err != nil {
				return 0, err
			}
			if spent := time.Since(start); spent >= sampleTime {
				return float64(spent) / float64(n*units), nil
			}
		}
	}
}

// repeatFresh is repeat for work that uses up what it works on: prepare makes that anew before
// each call, and its time is not counted.
func repeatFresh(units int, prepare func() (work func() error, err error)) sampler {
	return func() (float64, error) {
		var spent time.Duration
		for n := 1; ; n++ {
			work, err := prepare()
			if err != nil {
				return 0, err
			}
			start := time.Now()
			err = work()
			spent += time.Since(start)
			if err != nil {
				return 0, err
			}
			if spent >= sampleTime {
				return float64(spent) / float64(n*units), nil
			}
		}
	}
}
