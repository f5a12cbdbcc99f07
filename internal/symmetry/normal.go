package symmetry

import "math"

// z90 and z95 enclose 90 % and 95 % of a normal distribution, both tails out.
var (
	z90 = normalQuantile(0.95)
	z95 = normalQuantile(0.975)
)

func normalCDF(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// logNormalCDF is ln Φ(z), also where Φ(z) is too small for a float64.
func logNormalCDF(z float64) float64 {
	if z > -20 {
		return math.Log(normalCDF(z))
	}
	// Asymptotic series of the tail: Handbook of Mathematical Functions, NBS
	// Applied Mathematics Series 55, 1964, formula 26.2.12.
	s := 1 / (z * z)
	return -z*z/2 - math.Log(-z) - math.Log(2*math.Pi)/2 + math.Log1p(-s*(1-s*(3-15*s)))
}

// hazard is φ(z)/Φ(z), the pull of a lower bound.
func hazard(z float64) float64 {
	return math.Exp(-z*z/2-logNormalCDF(z)) / math.Sqrt(2*math.Pi)
}

// shorterPercent turns a log ratio into "this much shorter", in percent;
// negative means longer.
func shorterPercent(logRatio float64) float64 { return -100 * math.Expm1(-logRatio) }

// longerPercent turns a log ratio into "this much longer", in percent.
func longerPercent(logRatio float64) float64 { return 100 * math.Expm1(logRatio) }
