package loading

import (
	"math"

	"evenhold/internal/working"
)

// z90 is the standard normal quantile at 0.95: ± z90 standard deviations hold 90 %.
const z90 = 1.6448536269514722

// tolerance is one thing that the model can have wrong; move shifts it by a number
// of standard deviations. The sizes are ours, set from how far two published
// tables, or two people of one stature, plausibly differ.
type tolerance struct {
	key, size string
	move      func(s *shape, by float64)
}

var tolerances = []tolerance{
	{"loading.tolerance.upper_mass", "3 % of the mass above the low back",
		func(s *shape, by float64) { s.upperScale += .03 * by }},
	{"loading.tolerance.low_back", "0.01 · stature",
		func(s *shape, by float64) { s.lowBack += .01 * s.stature * by }},
	{"loading.tolerance.shoulder_height", "0.01 · stature",
		func(s *shape, by float64) { s.shoulder += .01 * s.stature * by }},
	{"loading.tolerance.shoulder_width", "0.008 · stature",
		func(s *shape, by float64) { s.halfShoulder += .008 * s.stature * by }},
	{"loading.tolerance.elbow_place", "0.02 m",
		func(s *shape, by float64) { s.elbowOut += .02 * by }},
	{"loading.tolerance.hand_clearance", "0.02 m",
		func(s *shape, by float64) { s.clearance += .02 * by }},
	{"loading.tolerance.lean_angle", "3°",
		func(s *shape, by float64) { s.leanRad += 3 * math.Pi / 180 * by }},
}

// Shares of the moment that standing still leaves out, one standard deviation,
// ours: walking sways the load, lifting speeds it up.
const (
	carryMotion = .15
	liftMotion  = .20
)

// spread is the standard deviation of the moment in N·m, by first-order
// propagation: each tolerance moved alone by ± one standard deviation, the halved
// differences added as squares. parts lists each that matters.
func spread(s shape, setup Setup) (sdNM float64, parts []working.Step) {
	moment := func(s shape) float64 {
		m, _ := s.pose(setup).solve()
		return m
	}
	var variance float64
	part := func(key, formula string, nm float64) {
		if nm = math.Abs(nm); nm > 1e-9 {
			variance += nm * nm
			parts = append(parts, working.Step{Key: key, Formula: formula, Value: nm, Unit: "N.m"})
		}
	}
	for _, t := range tolerances {
		up, down := s, s
		t.move(&up, 1)
		t.move(&down, -1)
		part(t.key, "± "+t.size, (moment(up)-moment(down))/2)
	}
	switch {
	case setup.Posture == OneSidedLift:
		part("loading.tolerance.motion", "± 20 % of the moment", liftMotion*moment(s))
	case setup.Posture.HasWeight():
		part("loading.tolerance.motion", "± 15 % of the moment", carryMotion*moment(s))
	}
	return math.Sqrt(variance), parts
}
