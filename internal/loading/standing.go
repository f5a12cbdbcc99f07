package loading

import "math"

// standing builds the carries and the one-sided lift at its top: upright, feet
// hip-wide, the weight in the right hand. Trunk and free arm stay plumb, so that
// above the low back only the weight in the hand is out of balance.
//
// Where the weight hangs: no published table was found, so it is half the
// shoulder width plus a stated clearance beside the body, and the shoulder's own
// line in the rack and overhead.
func (s shape) standing(setup Setup) pose {
	f := newFrame(math.Pi / 2)
	p := pose{lowBack: f.at(s.lowBack, 0)}
	p.rest = Arrow{X: -s.halfHip, Name: "left_foot"}
	p.push = Arrow{X: s.halfHip, FY: 1, Name: "right_foot"}
	s.addTrunk(&p, f)
	held := s.addHoldingArm(&p, f, setup.Posture)
	s.addWeight(&p, held, setup.LoadG)
	if setup.OtherLoadG > 0 {
		s.addWeight(&p, point{-held.x, held.y}, setup.OtherLoadG)
	}
	s.addTopArm(&p, f, ArmAlong)
	for _, side := range []float64{1, -1} {
		x := side * s.halfHip
		s.addLeg(&p, f.at(s.hip, x), f.at(s.knee, x), f.at(s.ankleHigh, x), f.at(0, x))
	}
	s.addFlank(&p, f, -1)
	margin := .12 * s.stature
	p.line(PartGround, point{-s.halfHip - margin, 0}, point{s.halfHip + margin, 0})
	return p
}

// addHoldingArm returns where the weight is held.
func (s shape) addHoldingArm(p *pose, f frame, posture Posture) point {
	shoulder := f.at(s.shoulder, s.halfShoulder)
	switch posture {
	case Rack:
		elbow := f.at(s.shoulder-s.upperArm, s.halfShoulder)
		s.addArm(p, shoulder, elbow, shoulder, shoulder)
		return shoulder
	case Overhead:
		elbow := f.at(s.shoulder+s.upperArm, s.halfShoulder)
		wrist := f.at(s.shoulder+s.upperArm+s.forearm, s.halfShoulder)
		tip := f.at(s.shoulder+s.upperArm+s.forearm+s.hand, s.halfShoulder)
		s.addArm(p, shoulder, elbow, wrist, tip)
		return between(wrist, tip, .5)
	}
	elbow := f.at(s.shoulder-s.upperArm, s.halfShoulder)
	wrist := f.at(s.shoulder-s.upperArm-s.forearm, s.halfShoulder)
	tip := f.at(s.shoulder-s.upperArm-s.forearm-s.hand, s.halfShoulder)
	s.addArm(p, shoulder, elbow, wrist, tip)
	hand := between(wrist, tip, .5)
	return point{s.halfShoulder + s.clearance, hand.y}
}

func (s shape) addWeight(p *pose, at point, loadG int64) {
	kg := float64(loadG) / 1000
	p.masses = append(p.masses, mass{kg: kg, at: at, above: true})
	p.weights = append(p.weights, Arrow{X: at.x, Y: at.y, FY: -kg * gravity, Name: "weight"})
}
