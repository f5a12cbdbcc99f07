package symmetry

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// nile is the yearly flow of the Nile at Aswan, 1871 to 1970, in 1e8 m³: open
// data, the standard example of a local-level model, as shipped with R 4.2.
var nile = []float64{
	1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020,
	960, 1180, 799, 958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840,
	874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969, 831, 726, 456, 824, 702,
	1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759,
	781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801,
	1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923, 975, 815,
	1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
}

// The variances 15099 and 1469.1 are those of the book "Time Series Analysis by
// State Space Methods", Oxford University Press, 2nd edition 2012, section 2.2.
// Filtered and smoothed levels are what KalmanRun and KalmanSmooth of R 4.2, a
// general-purpose statistics package, give with them and a first variance of 1e7.
func TestFilterAndSmootherOnTheNile(t *testing.T) {
	const noise, wander = 15099, 1469.1
	var samples []sample
	for i, y := range nile {
		samples = append(samples, sample{day: 7 * i, log: y, read: value})
	}
	// R lets a year pass before the first flow and starts from 1e7 after it.
	states, _ := filter(state{ll: 1e7}, samples, wander, noise)
	smoothed := smooth(states, samples, wander)
	near := func(name string, got, want, tol float64) {
		t.Helper()
		if math.Abs(got-want) > tol {
			t.Errorf("%s = %.6f, want %.6f", name, got, want)
		}
	}
	near("filtered level 98", states[97].level, 858.1257656, 1e-6)
	near("filtered level 99", states[98].level, 819.6372663, 1e-6)
	near("filtered level 100", states[99].level, 798.3702926, 1e-6)
	near("variance at the end", states[99].ll, 4032.157942, 1e-5)
	near("smoothed level 1", smoothed[0].level, 1111.2202576, 1e-6)
	near("smoothed level 2", smoothed[1].level, 1110.5292570, 1e-6)
	near("smoothed level 50", smoothed[49].level, 834.7632590, 1e-6)
	near("smoothed level 99", smoothed[98].level, 804.0495957, 1e-6)
	near("smoothed variance 1", smoothed[0].ll, 4030.532767, 1e-5)
	near("smoothed variance 50", smoothed[49].ll, 2326.756870, 1e-5)
}

// With a drift, the same answer must come from the whole covariance matrix at
// once, solved by gonum, a general-purpose numerics library: level(i) = a + b·tᵢ
// + wander, cov(wander(i), wander(j)) = q·min(tᵢ, tⱼ).
func TestDriftAgainstTheWholeCovariance(t *testing.T) {
	const noise, wander, a, b = 0.03, 0.002, 0.5, 0.0016
	days := []int{0, 3, 3, 10, 24, 60}
	logs := []float64{3.9, 4.0, 4.1, 4.05, 4.3, 4.5}
	n := len(days)
	cov := mat.NewSymDense(n, nil)
	prior := func(i, j int) float64 {
		ti, tj := float64(days[i])/7, float64(days[j])/7
		return a + b*ti*tj + wander*math.Min(ti, tj)
	}
	off := mat.NewVecDense(n, nil)
	var samples []sample
	for i := range days {
		samples = append(samples, sample{days[i], logs[i], value})
		off.SetVec(i, logs[i]-4)
		for j := range days {
			v := prior(i, j)
			if i == j {
				v += noise
			}
			cov.SetSym(i, j, v)
		}
	}
	states, likelihood := filter(state{level: 4, ll: a, dd: b}, samples, wander, noise)
	smoothed := smooth(states, samples, wander)
	for i := range days {
		cross := mat.NewVecDense(n, nil)
		for j := range days {
			cross.SetVec(j, prior(i, j))
		}
		var gain mat.VecDense
		if err := gain.SolveVec(cov, cross); err != nil {
			t.Fatal(err)
		}
		wantLevel, wantVar := 4+mat.Dot(&gain, off), prior(i, i)-mat.Dot(&gain, cross)
		if math.Abs(smoothed[i].level-wantLevel) > 1e-9 || math.Abs(smoothed[i].ll-wantVar) > 1e-9 {
			t.Errorf("test %d: %.6f (%.6f), want %.6f (%.6f)", i, smoothed[i].level,
				smoothed[i].ll, wantLevel, wantVar)
		}
	}
	var chol mat.Cholesky
	var solved mat.VecDense
	if !chol.Factorize(cov) {
		t.Fatal("covariance is not positive definite")
	}
	if err := chol.SolveVecTo(&solved, off); err != nil {
		t.Fatal(err)
	}
	want := -(mat.Dot(off, &solved) + chol.LogDet() + float64(n)*math.Log(2*math.Pi)) / 2
	if math.Abs(likelihood-want) > 1e-9 {
		t.Errorf("log likelihood %.9f, want %.9f", likelihood, want)
	}
}

// A lower bound must leave the mean and variance of a normal belief weighted by
// Φ((x-c)/e), here by summing over a fine grid with gonum's distribution.
func TestLowerBoundMoments(t *testing.T) {
	unit := distuv.UnitNormal
	for _, c := range []float64{-3, -0.5, 0, 0.4, 1.5, 4} {
		before, noise := state{level: 0.1, ll: 0.36}, 0.04
		after, likelihood := before.seen(c, bound, noise)
		var total, mean, square float64
		const step = 0.001
		for x := -8.0; x < 8; x += step {
			w := math.Exp(-(x-0.1)*(x-0.1)/(2*0.36)) * unit.CDF((x-c)/0.2)
			total, mean, square = total+w, mean+w*x, square+w*x*x
		}
		mean /= total
		if v := square/total - mean*mean; math.Abs(after.level-mean) > 1e-6 ||
			math.Abs(after.ll-v) > 1e-6 {
			t.Errorf("bound %v: %.6f (%.6f), want %.6f (%.6f)", c, after.level, after.ll, mean, v)
		}
		want := math.Log(total * step / math.Sqrt(2*math.Pi*0.36))
		if math.Abs(likelihood-want) > 1e-6 {
			t.Errorf("bound %v: log likelihood %.6f, want %.6f", c, likelihood, want)
		}
	}
}

// The tail of the normal distribution is checked against its asymptotic value at
// 10 (ln Φ(-10) = -53.23128515, from memory) and for a seamless join at -20.
func TestLogNormalCDFTail(t *testing.T) {
	if got := logNormalCDF(-10); math.Abs(got+53.23128515) > 1e-7 {
		t.Errorf("ln Φ(-10) = %.8f", got)
	}
	above, below := logNormalCDF(-20+1e-9), logNormalCDF(-20)
	if math.Abs(above-below) > 1e-6 {
		t.Errorf("ln Φ jumps from %.9f to %.9f at -20", below, above)
	}
	if got := logNormalCDF(-1e6); math.IsInf(got, 0) || math.IsNaN(got) {
		t.Errorf("ln Φ(-1e6) = %v", got)
	}
}
