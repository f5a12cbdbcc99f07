package loading

import "math"

// z90 is the standard normal quantile at 0.95: ± z90 standard deviations hold 90 %.
const z90 = 1.6448536269514722

// tolerance is one thing that the model can have wrong, moved by one standard
// deviation. The sizes are ours, set from how far two published tables or two
// people of one stature plausibly differ.
type tolerance struct {
	key  string
	move func(s *shape, by float64)
}

var tolerances = []tolerance{
	{"tolerance.upper_mass", func(s *shape, by float64) { s.upperScale += .03 * by }},
	{"tolerance.low_back", func(s *shape, by float64) { s.lowBack += .01 * s.stature * by }},
	{"tolerance.shoulder_height", func(s *shape, by float64) { s.shoulder += .01 * s.stature * by }},
	{"tolerance.shoulder_width", func(s *shape, by float64) { s.halfShoulder += .008 * s.stature * by }},
	{"tolerance.elbow_place", func(s *shape, by float64) { s.elbowOut += .02 * by }},
	{"tolerance.hand_clearance", func(s *shape, by float64) { s.clearance += .02 * by }},
	{"tolerance.lean_angle", func(s *shape, by float64) { s.leanRad += 3 * math.Pi / 180 * by }},
}

// Shares of the moment that standing still leaves out, one standard deviation,
// ours: walking sways the load, lifting speeds it up.
const (
	carryMotion = .15
	liftMotion  = .20
)

// spread is the standard deviation of the moment in N·m, by first-order
// propagation: each tolerance moved alone by ± one standard deviation, the halved
// differences added as squares.
func spread(s shape, setup Setup) float64 {
	moment := func(s shape) float64 {
		m, _ := s.pose(setup).solve()
		return m
	}
	var variance float64
	for _, t := range tolerances {
		up, down := s, s
		t.move(&up, 1)
		t.move(&down, -1)
		half := (moment(up) - moment(down)) / 2
		variance += half * half
	}
	motion := 0.0
	switch {
	case setup.Posture == OneSidedLift:
		motion = liftMotion
	case setup.Posture.HasWeight():
		motion = carryMotion
	}
	moved := motion * moment(s)
	return math.Sqrt(variance + moved*moved)
}
