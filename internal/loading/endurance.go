package loading

import (
	"math"
	"time"
)

// The trunk's endurance curve, seconds at a share of maximum: 22.69 · share^−2.27.
// "Endurance time is joint-specific: a modelling and meta-analysis investigation",
// Ergonomics 2010;53(1):109-129, doi:10.1080/00140130903389068.
const (
	curveFactorS  = 22.69
	curveExponent = -2.27
	// curveSD is the standard deviation of the log of time about the curve: the
	// paper's 95 % prediction interval is 29 to 47 % from it, read here at its wide
	// end as times or divided by 1.47 (that is −32 % to +47 %).
	curveSD = 0.19656603 // ln(1.47) / 1.95996398
	// Shares of maximum over which the curve was fitted.
	curveFrom, curveTo = .1, 1.0
)

// The trunk's rates in the three-compartment model, 1/s: "A three-compartment
// muscle fatigue model accurately predicts joint-specific maximum endurance times
// for sustained isometric tasks", J Biomech 2012;45(10):1803-1808,
// doi:10.1016/j.jbiomech.2012.04.018.
const (
	fatigueRate = .00755
	recoverRate = .00075
	// restFactor multiplies recovery at rest; fitted for ankle, knee and elbow,
	// borrowed for the trunk: "Modification of a three-compartment muscle fatigue
	// model to predict peak torque decline during intermittent tasks", J Biomech
	// 2018;77:16-25, doi:10.1016/j.jbiomech.2018.06.005.
	restFactor = 15.0
)

// Longest is the longest time that any result says; a longer one, or an endless
// one, is given as Longest and means "longer than this".
const Longest = time.Hour

// HoldAt is the time that the endurance curve gives at a share of maximum, from 0
// to Longest. A share that is not above 0 can be held for Longest.
func HoldAt(share float64) time.Duration {
	if !(share > 0) {
		return Longest
	}
	return duration(curveFactorS * math.Pow(share, curveExponent))
}

// ShareFor is the inverse of HoldAt: the share of maximum that can be held for
// just hold. It is above 1 below 22.69 s, where the curve says more than a maximum
// effort, and 0 for a hold that is not above 0.
func ShareFor(hold time.Duration) float64 {
	if hold <= 0 {
		return 0
	}
	return math.Exp(logShare(math.Log(hold.Seconds())))
}

func logShare(logHoldS float64) float64 {
	return (logHoldS - math.Log(curveFactorS)) / curveExponent
}

func logHoldS(logShare float64) float64 {
	return math.Log(curveFactorS) + curveExponent*logShare
}

// SustainedAt is the time that the three-compartment model gives for holding a
// share of maximum from fresh, in its closed form, from 0 to Longest. Below a
// share of about 0.09 it is endless.
func SustainedAt(share float64) time.Duration {
	if !(share > 0) {
		return Longest
	}
	return reserve(0, share)
}

// sustainedShare is the inverse of SustainedAt for a time in seconds.
func sustainedShare(holdS float64) float64 {
	return 1 / (1 + fatigueRate/recoverRate*-math.Expm1(-recoverRate*holdS))
}

// oldCurveS is a static endurance curve of 1960, kept for comparison only:
// T(min) = −1.5 + 2.1/f − 0.6/f² + 0.1/f³ for a share f of .15 to 1.
func oldCurveS(share float64) float64 {
	f := share
	return 60 * (-1.5 + 2.1/f - .6/(f*f) + .1/(f*f*f))
}

// duration turns seconds into 0 to Longest; NaN becomes 0.
func duration(seconds float64) time.Duration {
	switch {
	case !(seconds > 0):
		return 0
	case seconds >= Longest.Seconds():
		return Longest
	}
	return time.Duration(seconds * float64(time.Second))
}
