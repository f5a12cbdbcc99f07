package loading

import (
	"math"
	"time"
)

// Design note. The three-compartment model moves muscle between resting, active
// and fatigued. Its activation rate (10 1/s) is over a thousand times its fatigue
// rate, so within about 0.1 s the active part equals the target. With the active
// part equal to the target at every moment, each stretch of constant load has a
// closed form, the same that gives the published endurance times, and no step
// size enters. The tests integrate the full model and hold the two together.

// fatigueAfter is the fatigued part, 0 to 1, after t seconds at a share of
// maximum, from a fatigued part f. Once the share cannot be met any more the
// person stops: heldS is then less than t, and the rest of t is rest.
func fatigueAfter(f, share, t, restFactor float64) (after, heldS float64) {
	if !(share > 0) {
		return rested(f, t, restFactor), t
	}
	left := failsInS(f, share)
	if left < t {
		return rested(math.Max(f, 1-share), t-left, restFactor), left
	}
	end := fatigueRate * share / recoverRate
	return end + (f-end)*math.Exp(-recoverRate*t), t
}

func rested(f, t, restFactor float64) float64 {
	return f * math.Exp(-restFactor*recoverRate*t)
}

// failsInS is how long a share can still be met from a fatigued part f; infinite
// when fatigue levels off before that.
func failsInS(f, share float64) float64 {
	limit := 1 - share
	if f >= limit {
		return 0
	}
	end := fatigueRate * share / recoverRate
	if end <= limit {
		return math.Inf(1)
	}
	return math.Log((end-f)/(end-limit)) / recoverRate
}

// spent is the part of the way from fresh to failing at a share, 0 to 1.
func spent(f, share float64) float64 {
	switch {
	case !(share > 0):
		return 0
	case f >= 1-share:
		return 1
	}
	return f / (1 - share)
}

func reserve(f, share float64) time.Duration { return duration(failsInS(f, share)) }

// evenHoldS is the single hold, in seconds, that asks as much as reps holds of
// heldS with restS between them: both just fail at the same share of maximum.
func evenHoldS(heldS, restS float64, reps int) float64 {
	if reps <= 1 {
		return heldS
	}
	low, high := 0.0, 1.0
	for range 40 {
		share := (low + high) / 2
		if completes(share, heldS, restS, reps) {
			low = share
		} else {
			high = share
		}
	}
	return math.Max(heldS, math.Min(Longest.Seconds(), failsInS(0, low)))
}

func completes(share, heldS, restS float64, reps int) bool {
	f := 0.0
	for range reps {
		after, held := fatigueAfter(f, share, heldS, restFactor)
		if held < heldS {
			return false
		}
		f = rested(after, restS, restFactor)
	}
	return true
}
