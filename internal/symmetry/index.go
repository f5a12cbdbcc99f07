// Package symmetry says what timed holds can tell about a person's two sides:
// how far apart they are and how sure that is, whether a change is larger than
// the noise of the test, where a side is heading, and how large the test noise
// of a practice is.
//
// Every function is pure and safe for concurrent use; visits and days are plain
// numbers handed in. Holds are time.Duration. Differences are natural
// logarithms of a ratio, right over left or later over earlier, unless a name
// ends in Percent. Decisions are made on the log scale only, because there a
// swap of the sides changes nothing but the sign. Sides are always the working
// side of the trunk. No input gives NaN, infinity or a panic: where nothing can
// be said the answer is a verdict of CannotTell.
package symmetry

import (
	"math"
	"time"
)

// The five indices below are for display. Each takes the holds of the left and
// the right working side and reports false when it is not defined: for a
// negative hold, for two holds of zero, and LogDifference also for one.

// SymmetryIndex returns (R-L)/(0.5·(R+L))·100, in percent: positive when the
// right side held longer. J Manipulative Physiol Ther 1987;10(4):172-176.
func SymmetryIndex(left, right time.Duration) (percent float64, ok bool) {
	l, r, ok := seconds(left, right)
	if !ok {
		return 0, false
	}
	return (r - l) / ((r + l) / 2) * 100, true
}

// BilateralAsymmetry returns (stronger-weaker)/stronger·100, in percent:
// positive when the right side held longer. "A vertical jump force test for
// assessing bilateral strength asymmetry in athletes", Med Sci Sports Exerc
// 2007;39(11):2044-2050.
func BilateralAsymmetry(left, right time.Duration) (percent float64, ok bool) {
	l, r, ok := seconds(left, right)
	if !ok {
		return 0, false
	}
	return (r - l) / math.Max(l, r) * 100, true
}

// SymmetryAngle returns (45° - arctan(L/R))/90°·100, in percent: positive when
// the right side held longer. "The symmetry angle: a novel, robust method of
// quantifying asymmetry", Gait Posture 2008;27(4):622-627,
// doi:10.1016/j.gaitpost.2007.08.006.
func SymmetryAngle(left, right time.Duration) (percent float64, ok bool) {
	l, r, ok := seconds(left, right)
	if !ok {
		return 0, false
	}
	// 45° - arctan(L/R) = arctan((R-L)/(R+L)), which flips its sign exactly when
	// the sides are swapped.
	return math.Atan2(r-l, r+l) / (math.Pi / 2) * 100, true
}

// LimbSymmetry returns weaker/stronger·100, in percent: the same for both
// orders of the sides. J Sports Sci Med 2021;20:594 (review of 53 papers).
func LimbSymmetry(left, right time.Duration) (percent float64, ok bool) {
	l, r, ok := seconds(left, right)
	if !ok {
		return 0, false
	}
	return math.Min(l, r) / math.Max(l, r) * 100, true
}

// LogDifference returns 100·ln(R/L), in log-percent: positive when the right
// side held longer.
func LogDifference(left, right time.Duration) (logPercent float64, ok bool) {
	if left <= 0 || right <= 0 {
		return 0, false
	}
	return 100 * (math.Log(right.Seconds()) - math.Log(left.Seconds())), true
}

func seconds(left, right time.Duration) (l, r float64, ok bool) {
	if left < 0 || right < 0 || (left == 0 && right == 0) {
		return 0, 0, false
	}
	return left.Seconds(), right.Seconds(), true
}
