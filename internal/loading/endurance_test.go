package loading

import (
	"math"
	"testing"
	"time"
)

// TestPowerLaw: ET = 22.69 · f^−2.27, "Endurance time is joint-specific: a modelling
// and meta-analysis investigation", Ergonomics 2010;53(1):109-129,
// doi:10.1080/00140130903389068. The rows other than .5 and 1 are worked by hand as
// exp(ln 22.69 − 2.27 ln f) with ln 22.69 = 3.12192.
func TestPowerLaw(t *testing.T) {
	tests := []struct{ share, seconds, tolerance float64 }{
		{.5, 109.4, .05},
		{1, 22.69, .005},
		{.2, 876, 1},     // 3.12192 + 2.27·1.60944 = 6.77535
		{.25, 527.9, .5}, // 3.12192 + 2.27·1.38629 = 6.26880
		{.8, 37.66, .05}, // 3.12192 + 2.27·0.22314 = 3.62846
	}
	for _, tt := range tests {
		if got := HoldAt(tt.share).Seconds(); math.Abs(got-tt.seconds) > tt.tolerance {
			t.Errorf("HoldAt(%g) = %.2f s, want %g", tt.share, got, tt.seconds)
		}
	}
	if got := ShareFor(60 * time.Second); math.Abs(got-.6516) > 5e-5 {
		t.Errorf("ShareFor(60 s) = %.5f, want .6516", got)
	}
	for share := .1; share <= 1; share += .05 { // 22.69·.1^−2.27 = 4225 s, over an hour
		want := math.Min(22.69*math.Pow(share, -2.27), 3600)
		if got := HoldAt(share).Seconds(); math.Abs(got-want) > 1e-3 {
			t.Errorf("HoldAt(%.2f) = %g, want %g", share, got, want)
		}
	}
	for _, share := range []float64{0, -1, math.NaN()} {
		if HoldAt(share) != Longest {
			t.Errorf("HoldAt(%g) is not the longest", share)
		}
	}
}

// TestOldCurve: static curve of 1960, f = .5 → 66.0 s (1.1 min).
func TestOldCurve(t *testing.T) {
	if got := oldCurveS(.5); math.Abs(got-66) > .05 {
		t.Errorf("got %.2f s, want 66.0", got)
	}
}

// threeCompartments integrates the full model as published, by Euler's rule: "A
// three-compartment muscle fatigue model accurately predicts joint-specific maximum
// endurance times for sustained isometric tasks", J Biomech 2012;45(10):1803-1808,
// doi:10.1016/j.jbiomech.2012.04.018. It is the second opinion on the closed form. It
// returns the fatigued part at the end and the second of failure (−1: none).
func threeCompartments(spans [][2]float64, rest, stepS float64) (fatigued, failedS float64) {
	const drive, k, recover = 10, .00755, .00075
	r, a, f, at := 1.0, 0.0, 0.0, 0.0
	failedS = -1
	for _, span := range spans {
		target := span[1]
		for range int(math.Round(span[0] / stepS)) {
			var c float64
			switch {
			case a < target && r > target-a:
				c = drive * (target - a)
			case a < target:
				c = drive * r
			default:
				c = drive * (target - a)
			}
			rate := recover
			if target == 0 {
				rate *= rest
			}
			dr, da, df := -c+rate*f, c-k*a, k*a-rate*f
			r, a, f, at = r+dr*stepS, a+da*stepS, f+df*stepS, at+stepS
			if failedS < 0 && target > 0 && r+a < target {
				failedS = at
			}
		}
	}
	return f, failedS
}

// TestSustained: trunk at .5 → closed form 139.5 s, integrated 139.7 s (Euler, 0.01 s);
// at .3 → integrated 352.0 s; endless below .0904 = Rec/(k+Rec): worked from the published rates.
func TestSustained(t *testing.T) {
	if got := SustainedAt(.5).Seconds(); math.Abs(got-139.5) > .05 {
		t.Errorf("closed form at .5: %.2f s, want 139.5", got)
	}
	if got := SustainedAt(.3).Seconds(); math.Abs(got-352.0) > .5 {
		t.Errorf("closed form at .3: %.2f s, want 352.0 ± .5", got)
	}
	if _, got := threeCompartments([][2]float64{{400, .3}}, 1, .01); math.Abs(got-352.0) > .05 {
		t.Errorf("integrated at .3: %.2f s, want 352.0", got)
	}
	if _, got := threeCompartments([][2]float64{{200, .5}}, 1, .01); math.Abs(got-139.7) > .05 {
		t.Errorf("integrated at .5: %.2f s, want 139.7", got)
	}
	if SustainedAt(.0903) != Longest {
		t.Error("a share of .0903 should be endless")
	}
	if got := failsInS(0, .0905); math.IsInf(got, 1) {
		t.Error("a share of .0905 should end")
	}
	for _, s := range []float64{5, 60, 139.5, 600} {
		if got := failsInS(0, sustainedShare(s)); math.Abs(got-s) > 1e-6*s {
			t.Errorf("inverse of %g s gives %g s", s, got)
		}
	}
}

// TestModelsDiffer: between 20 and 80 % the two models differ by −23 % to +28 %
// (worked from both published formulas).
func TestModelsDiffer(t *testing.T) {
	low, high := math.Inf(1), math.Inf(-1)
	for share := .2; share <= .8001; share += .001 {
		d := 100 * (failsInS(0, share)/(22.69*math.Pow(share, -2.27)) - 1)
		low, high = math.Min(low, d), math.Max(high, d)
	}
	if math.Abs(low+23) > 1 || math.Abs(high-28) > 1 {
		t.Errorf("the models differ by %.1f to %.1f %%, want −23 to 28", low, high)
	}
}
