package symmetry

import "math"

// state is what is believed of a side at one time: its log endurance and how
// fast that drifts, with their covariance. Time is in weeks.
type state struct {
	level, drift float64
	ll, ld, dd   float64 // variances of level and drift, and ld their covariance
}

// after lets weeks pass without a test: the level moves with the drift and
// wanders with the given variance a week.
func (s state) after(weeks, wander float64) state {
	s.level += weeks * s.drift
	s.ll += 2*weeks*s.ld + weeks*weeks*s.dd + weeks*wander
	s.ld += weeks * s.dd
	return s
}

// seen takes in one test with error variance noise, and returns the log
// likelihood that the belief gave it. A lower bound is taken in by the first two
// moments of the belief cut at the bound.
func (s state) seen(log float64, read reading, noise float64) (state, float64) {
	total := s.ll + noise
	root := math.Sqrt(total)
	z := (s.level - log) / root
	pull, tighten := -z, 1.0
	likelihood := -(z*z + math.Log(2*math.Pi*total)) / 2
	if read == bound {
		pull = hazard(z)
		tighten = math.Min(math.Max(pull*(pull+z), 0), 1)
		likelihood = logNormalCDF(z)
	}
	gainLevel, gainDrift := s.ll/root, s.ld/root
	s.level += gainLevel * pull
	s.drift += gainDrift * pull
	s.ll -= gainLevel * gainLevel * tighten
	s.ld -= gainLevel * gainDrift * tighten
	s.dd -= gainDrift * gainDrift * tighten
	return s, likelihood
}

// sample is one usable test of a side.
type sample struct {
	day  int
	log  float64
	read reading
}

// longestGapWeeks bounds the time between two tests, so that a slip in a date
// cannot carry the numbers out of range. After ten years nothing is left of
// what a test told anyway.
const longestGapWeeks = 520

func weeksBetween(a, b int) float64 {
	return math.Min((float64(b)-float64(a))/7, longestGapWeeks)
}

// filter runs through samples in order of day from the belief before the first.
// It returns the belief after each sample and the log likelihood of them all.
func filter(first state, samples []sample, wander, noise float64) ([]state, float64) {
	states := make([]state, len(samples))
	var sum float64
	s := first
	for i, t := range samples {
		if i > 0 {
			s = s.after(weeksBetween(samples[i-1].day, t.day), wander)
		}
		var likelihood float64
		s, likelihood = s.seen(t.log, t.read, noise)
		states[i] = s
		sum += likelihood
	}
	return states, sum
}

// smooth corrects each belief by what came later: the fixed-interval smoother of
// "Maximum likelihood estimates of linear dynamic systems", AIAA Journal
// 1965;3(8):1445-1450, doi:10.2514/3.3166 (cited from memory).
func smooth(states []state, samples []sample, wander float64) []state {
	smoothed := append([]state(nil), states...)
	for i := len(states) - 2; i >= 0; i-- {
		weeks := weeksBetween(samples[i].day, samples[i+1].day)
		s, next := states[i], states[i].after(weeks, wander)
		later := smoothed[i+1]
		// g = P·Fᵀ·(predicted P)⁻¹, P·Fᵀ = [[ll + w·ld, ld], [ld + w·dd, dd]].
		a, b := s.ll+weeks*s.ld, s.ld
		c, d := s.ld+weeks*s.dd, s.dd
		var gll, gld, gdl, gdd float64
		if det := next.ll*next.dd - next.ld*next.ld; det > 1e-12*next.ll*next.dd {
			gll, gld = (a*next.dd-b*next.ld)/det, (b*next.ll-a*next.ld)/det
			gdl, gdd = (c*next.dd-d*next.ld)/det, (d*next.ll-c*next.ld)/det
		} else if next.ll > 0 {
			gll, gdl = a/next.ll, c/next.ll
		}
		level, drift := later.level-next.level, later.drift-next.drift
		ll, ld, dd := later.ll-next.ll, later.ld-next.ld, later.dd-next.dd
		smoothed[i] = state{
			level: s.level + gll*level + gld*drift,
			drift: s.drift + gdl*level + gdd*drift,
			ll:    math.Max(s.ll+gll*(gll*ll+gld*ld)+gld*(gll*ld+gld*dd), 0),
			ld:    s.ld + gdl*(gll*ll+gld*ld) + gdd*(gll*ld+gld*dd),
			dd:    math.Max(s.dd+gdl*(gdl*ll+gdd*ld)+gdd*(gdl*ld+gdd*dd), 0),
		}
	}
	return smoothed
}
