package loading

import (
	"cmp"
	"math"
	"sort"
	"time"

	"evenhold/internal/sides"
)

// End is how an effort came to its end, as far as the trunk is concerned.
type End string

// The ends of an effort. An effort that ended for any other reason than the trunk
// (done as planned, arm or shoulder, pain, a set limit) is a lower bound. The
// empty End is AtLeast: the safer reading.
const (
	GaveWay End = "gave_way" // position lost or given up: the value itself
	AtLeast End = "at_least" // the trunk could have gone on
	Void    End = "void"     // tester's error: says nothing
)

// Effort is one hold, carry or lift that was done, or a series of equal ones.
type Effort struct {
	AtMS  int64 // wall time in milliseconds; only order and distance count
	Setup Setup
	Held  time.Duration // each repetition
	Reps  int           // 0 means 1
	Rest  time.Duration // between repetitions
	End   End
	// Exertion is 0 to 10 as said afterwards; 0 also stands for not asked.
	Exertion int
}

// What the learning assumes. Trial noise is the middle of the typical error of
// 12.1 to 24.1 % (log scale) of "The impact of anthropometric characteristics on
// isometric trunk muscle endurance tests", PLoS One 2025;20(6):e0324787. The
// others are ours.
const (
	trialSD        = .166    // log of time: ln(1.181)
	priorHoldS     = 60.0    // straight-leg hold that an unknown person is taken to have
	priorSD        = .50     // log of capacity: weak, a factor of 1.65 either way
	driftPerDay    = 5.71e-5 // variance of log capacity: 4 % in four weeks
	exertionSD     = .50     // log of time told by an exertion
	exertionFrom   = 3       // below this an exertion says little
	exertionFull   = 10
	longestHeld    = 2 * time.Hour
	mostReps       = 200
	dayMS          = 24 * 60 * 60 * 1000
	shortestEffort = time.Second
)

// hasMeaning reports whether e can be learnt from at all.
func (e Effort) hasMeaning() bool {
	return e.End != Void && e.Held >= shortestEffort && e.Held <= longestHeld &&
		e.Reps >= 0 && e.Reps <= mostReps && e.Rest >= 0 && e.Setup.check() == nil
}

// inOrder returns the efforts of one side by time, then by value, so that the
// order in which a merge delivers them cannot show.
func inOrder(efforts []Effort, works sides.Working) []Effort {
	kept := make([]Effort, 0, len(efforts))
	for _, e := range efforts {
		if e.Setup.Works == works && e.hasMeaning() {
			kept = append(kept, e)
		}
	}
	sort.SliceStable(kept, func(i, j int) bool {
		a, b := kept[i], kept[j]
		return cmp.Or(
			cmp.Compare(a.AtMS, b.AtMS),
			cmp.Compare(a.Setup.Posture, b.Setup.Posture),
			cmp.Compare(a.Setup.Arm, b.Setup.Arm),
			cmp.Compare(a.Setup.LoadG, b.Setup.LoadG),
			cmp.Compare(a.Setup.OtherLoadG, b.Setup.OtherLoadG),
			cmp.Compare(a.Held, b.Held),
			cmp.Compare(a.Reps, b.Reps),
			cmp.Compare(a.Rest, b.Rest),
			cmp.Compare(a.End, b.End),
			cmp.Compare(a.Exertion, b.Exertion),
		) < 0
	})
	return kept
}

// belief is a normal distribution over the log of the trunk's capacity (entry 0)
// and, per posture, over how far that posture's statics and the endurance curve
// are off for this person. What is seen in a posture is the sum of the two.
type belief struct {
	mean [1 + postureCount]float64
	cov  [1 + postureCount][1 + postureCount]float64
}

// seen is the mean and variance of the log capacity as posture i shows it.
func (b *belief) seen(i int) (mean, variance float64) {
	return b.mean[0] + b.mean[1+i], b.cov[0][0] + 2*b.cov[0][1+i] + b.cov[1+i][1+i]
}

// value takes in that posture i showed y, with noise of standard deviation sd.
func (b *belief) value(i int, y, sd float64) {
	m, v := b.seen(i)
	total := v + sd*sd
	b.move(i, v*(y-m)/total, -v*v/total)
}

// atLeast takes in that posture i showed y or more: the moments of the normal
// distribution cut off, softly, below y are matched.
func (b *belief) atLeast(i int, y, sd float64) {
	m, v := b.seen(i)
	scale := math.Sqrt(v + sd*sd)
	z := (m - y) / scale
	ratio := hazard(z)
	b.move(i, v*ratio/scale, -v*v*ratio*(ratio+z)/(scale*scale))
}

// hazard is the standard normal density over its distribution at z.
func hazard(z float64) float64 {
	if z < -30 { // the quotient tends to −z − 1/z, before the distribution underflows
		return -z - 1/z
	}
	density := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
	return density / (.5 * math.Erfc(-z/math.Sqrt2))
}

// move shifts what posture i shows by dMean and dVariance, and all that hangs on
// it in proportion.
func (b *belief) move(i int, dMean, dVariance float64) {
	_, v := b.seen(i)
	if v <= 0 {
		return
	}
	var gain [1 + postureCount]float64
	for j := range gain {
		gain[j] = (b.cov[j][0] + b.cov[j][1+i]) / v
	}
	for j := range gain {
		b.mean[j] += gain[j] * dMean
		for k := range gain {
			b.cov[j][k] += gain[j] * gain[k] * dVariance
		}
	}
}
