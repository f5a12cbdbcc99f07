package trace

import (
	"math"
	"strings"
)

// random is a small published generator (32-bit "mulberry", public domain, from memory): the
// same seed gives the same years on every machine.
type random uint32

// unit returns a number from 0 up to, not including, 1.
func (r *random) unit() float64 {
	*r += 0x6D2B79F5
	t := uint32(*r)
	t = (t ^ t>>15) * (1 | t)
	t = t + (t^t>>7)*(61|t) ^ t
	return float64(t^t>>14) / (1 << 32)
}

// between returns a whole number from low to high, both included.
func (r *random) between(low, high int64) int64 {
	return low + int64(math.Floor(r.unit()*float64(high-low+1)))
}

// isLucky returns true with the probability p.
func (r *random) isLucky(p float64) bool { return r.unit() < p }

// bell returns a number around 0 that is seldom beyond 3 either way.
func (r *random) bell() float64 {
	sum := 0.0
	for range 6 {
		sum += r.unit()
	}
	return (sum - 3) / 0.7071
}

// times returns how often something happens that happens mean times on average.
func (r *random) times(mean float64) (n int64) {
	p := math.Exp(-mean)
	sum, u := p, r.unit()
	for u > sum && n < 20 {
		n++
		p *= mean / float64(n)
		sum += p
	}
	return n
}

// noteWords are what notes are made of.
var noteWords = strings.Fields("upper lower shoulder hip knee felt fine sore tight stopped early " +
	"grip slipped better than last week easy hard warm cold after work slept badly slight twinge " +
	"no ache steady breathing good form lost balance")

func (r *random) words(low, high int64) string {
	words := make([]string, r.between(low, high))
	for i := range words {
		words[i] = pick(r, noteWords)
	}
	return strings.Join(words, " ")
}

func pick[T any](r *random, of []T) T { return of[r.between(0, int64(len(of))-1)] }
