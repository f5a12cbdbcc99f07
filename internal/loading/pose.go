package loading

import "math"

// The angles and heights of a posture that no table gives: ours.
const (
	wallLeanRad  = 15 * math.Pi / 180 // body off upright in the wall lean
	raisedLegRad = 30 * math.Pi / 180 // top leg away from the bottom leg
)

type point struct{ x, y float64 }

func (p point) plus(q point) point        { return point{p.x + q.x, p.y + q.y} }
func (p point) times(k float64) point     { return point{p.x * k, p.y * k} }
func between(a, b point, f float64) point { return a.plus(b.plus(a.times(-1)).times(f)) }
func cross(r, f point) float64            { return r.x*f.y - r.y*f.x }
func (p point) from(origin point) point   { return p.plus(origin.times(-1)) }

// mass is one weight of the pose; above says that it is carried by the trunk
// above the low back.
type mass struct {
	kg    float64
	at    point
	above bool
}

// pose is a posture with its masses, in metres, seen from behind, the right side
// down or the weight in the right hand. One support is a push of unknown size
// along a known direction; the other takes what is left.
type pose struct {
	masses  []mass
	lowBack point
	push    Arrow // direction in FX, FY (unit length)
	rest    Arrow // pivot: the moments about it give the push
	// pushAbove says that the push acts on the body above the low back.
	pushAbove bool
	lines     []Line
	weights   []Arrow
}

// frame is the body's own axis in the plane: up is along the body towards the
// head, down is square to it towards the side that faces down.
type frame struct{ sole, up, down point }

func newFrame(angleRad float64) frame {
	sin, cos := math.Sincos(angleRad)
	return frame{up: point{cos, sin}, down: point{sin, -cos}}
}

// at is the point at a height above the sole and an offset towards the down side.
func (f frame) at(height, offset float64) point {
	return f.sole.plus(f.up.times(height)).plus(f.down.times(offset))
}

// bridge builds the side bridges and the wall lean.
//
// Elbow straight below the shoulder: with the pivot a distance l from the shoulder
// line along the body and the shoulder w further down than the pivot, the body's
// angle to the floor follows from l·sin − w·cos = upper arm.
func (s shape) bridge(posture Posture, arm Arm) pose {
	pivotHeight, pivotOffset := 0.0, s.halfFoot
	lowName, pushName := "feet", "elbow"
	var angle float64
	switch posture {
	case WallLean:
		pivotOffset, pushName = 0, "wall"
		angle = math.Pi/2 - s.leanRad
	case FeetElevated:
		pushName = "shoulder" // the body lies level; the feet stand as high as that needs
	default:
		if posture == BentKnee {
			pivotHeight, pivotOffset, lowName = s.knee, s.kneeBreadth, "knees"
		}
		l, w := s.shoulder-pivotHeight, s.halfShoulder-pivotOffset
		angle = math.Asin(s.upperArm/math.Hypot(l, w)) + math.Atan2(w, l)
	}
	f := newFrame(angle)
	pivot := f.at(pivotHeight, pivotOffset)
	f.sole = point{-pivot.x, -pivot.y}
	if posture == FeetElevated {
		f.sole.y = s.halfShoulder
	}
	p := pose{lowBack: f.at(s.lowBack, 0), pushAbove: true}
	pivot = f.at(pivotHeight, pivotOffset)
	p.rest = Arrow{X: pivot.x, Y: pivot.y, Name: lowName}
	shoulder := f.at(s.shoulder, s.halfShoulder)
	elbow := shoulder.plus(point{s.elbowOut, -s.upperArm})
	p.push = Arrow{X: elbow.x, Y: elbow.y, FY: 1, Name: pushName}
	switch posture {
	case WallLean:
		elbow = shoulder.plus(point{s.upperArm, s.elbowOut})
		p.push = Arrow{X: elbow.x, Y: elbow.y, FX: -1, Name: pushName}
	case FeetElevated:
		elbow = shoulder.plus(point{s.elbowOut, 0})
		p.push = Arrow{X: elbow.x, Y: elbow.y, FY: 1, Name: pushName}
	}
	s.addTrunk(&p, f)
	s.addDownArm(&p, shoulder, elbow)
	s.addTopArm(&p, f, arm)
	s.addLegs(&p, f, posture)
	s.addGround(&p, posture)
	return p
}

func (s shape) add(p *pose, seg segment, at point, above bool) {
	kg := seg.mass * s.massKG / s.t.total()
	if above {
		kg *= s.upperScale
	}
	p.masses = append(p.masses, mass{kg: kg, at: at, above: above})
}

func (p *pose) line(part string, a, b point) {
	p.lines = append(p.lines, Line{X1: a.x, Y1: a.y, X2: b.x, Y2: b.y, Part: part})
}

// addTrunk puts head, trunk and girdles. The lower trunk ends at the navel, close
// to the low back, and counts as below it whole.
func (s shape) addTrunk(p *pose, f frame) {
	h, t := s.stature, s.t
	waist := s.hip + t.lowerLen*h
	chest := waist + t.middleLen*h
	top := chest + t.upperLen*h
	chin := h - t.headLen*h
	s.add(p, t.head, f.at(h-t.head.centre*t.headLen*h, 0), true)
	s.add(p, t.upper, f.at(top-t.upper.centre*t.upperLen*h, 0), true)
	s.add(p, t.middle, f.at(chest-t.middle.centre*t.middleLen*h, 0), true)
	s.add(p, t.lower, f.at(waist-t.lower.centre*t.lowerLen*h, 0), false)
	p.line("neck", f.at(s.shoulder, 0), f.at(chin, 0))
	p.line("head", f.at(chin, 0), f.at(h, 0))
	p.line("trunk", f.at(s.hip, 0), f.at(s.shoulder, 0))
	p.line("shoulders", f.at(s.shoulder, -s.halfShoulder), f.at(s.shoulder, s.halfShoulder))
	p.line("hips", f.at(s.hip, -s.halfHip), f.at(s.hip, s.halfHip))
}

// addFlank draws the side that works, a hand's breadth off the spine.
func (s shape) addFlank(p *pose, f frame, towards float64) {
	low, high := s.hip+.03*s.stature, s.shoulder-.05*s.stature
	p.line(PartWorks, f.at(low, towards*.075*s.stature), f.at(high, towards*.095*s.stature))
}

// addDownArm: the forearm lies across the plane, so it is seen as the elbow point.
func (s shape) addDownArm(p *pose, shoulder, elbow point) {
	s.add(p, s.t.upperArm, between(shoulder, elbow, s.t.upperArm.centre), true)
	s.add(p, s.t.forearm, elbow, true)
	s.add(p, s.t.hand, elbow, true)
	p.line("upper_arm", shoulder, elbow)
}

func (s shape) addTopArm(p *pose, f frame, arm Arm) {
	shoulder := f.at(s.shoulder, -s.halfShoulder)
	elbow := f.at(s.shoulder-s.upperArm, -s.halfShoulder)
	wrist := f.at(s.shoulder-s.upperArm-s.forearm, -s.halfShoulder)
	tip := f.at(s.shoulder-s.upperArm-s.forearm-s.hand, -s.halfShoulder)
	switch arm {
	case ArmUp:
		elbow = f.at(s.shoulder, -s.halfShoulder-s.upperArm)
		wrist = f.at(s.shoulder, -s.halfShoulder-s.upperArm-s.forearm)
		tip = f.at(s.shoulder, -s.halfShoulder-s.upperArm-s.forearm-s.hand)
	case ArmAcross:
		wrist = f.at(s.shoulder-.2*s.upperArm, s.halfShoulder/2)
		tip = f.at(s.shoulder, s.halfShoulder)
	}
	s.addArm(p, shoulder, elbow, wrist, tip)
}

func (s shape) addArm(p *pose, shoulder, elbow, wrist, tip point) {
	s.add(p, s.t.upperArm, between(shoulder, elbow, s.t.upperArm.centre), true)
	s.add(p, s.t.forearm, between(elbow, wrist, s.t.forearm.centre), true)
	s.add(p, s.t.hand, between(wrist, tip, s.t.hand.centre), true)
	p.line("upper_arm", shoulder, elbow)
	p.line("forearm", elbow, between(wrist, tip, .5))
}

// addLegs runs each leg from its hip to the support; the feet point out of the
// plane. Bent knees send the shanks out of the plane too, so they are seen at the
// knee.
func (s shape) addLegs(p *pose, f frame, posture Posture) {
	for _, side := range []float64{1, -1} {
		hip := f.at(s.hip, side*s.halfHip)
		apart := side * s.halfFoot
		knee := f.at(s.knee, (side*s.halfHip+apart)/2)
		ankle, sole := f.at(s.ankleHigh, apart), f.at(0, apart)
		switch {
		case posture == BentKnee:
			knee = f.at(s.knee, apart)
			ankle, sole = knee, knee
		case posture == TopLegRaised && side < 0:
			sin, cos := math.Sincos(raisedLegRad)
			along := f.up.times(-cos).plus(f.down.times(-sin))
			knee = hip.plus(along.times(s.hip - s.knee))
			ankle, sole = hip.plus(along.times(s.hip-s.ankleHigh)), hip.plus(along.times(s.hip))
		}
		s.addLeg(p, hip, knee, ankle, sole)
	}
	s.addFlank(p, f, 1)
}

func (s shape) addLeg(p *pose, hip, knee, ankle, sole point) {
	s.add(p, s.t.thigh, between(hip, knee, s.t.thigh.centre), false)
	s.add(p, s.t.shank, between(knee, ankle, s.t.shank.centre), false)
	s.add(p, s.t.foot, between(ankle, sole, .5), false)
	p.line("thigh", hip, knee)
	if ankle != knee {
		p.line("shank", knee, sole)
	}
}

// addGround draws what the body rests on.
func (s shape) addGround(p *pose, posture Posture) {
	margin := .12 * s.stature
	left, right := p.rest.X-margin, p.push.X+margin
	switch posture {
	case WallLean:
		p.line(PartGround, point{left, 0}, point{p.push.X, 0})
		p.line(PartGround, point{p.push.X, 0}, point{p.push.X, p.push.Y + 3*margin})
	case FeetElevated:
		p.line(PartGround, point{left, 0}, point{right, 0})
		p.line(PartGround, point{p.rest.X - margin/2, p.rest.Y},
			point{p.rest.X + margin/2, p.rest.Y})
	default:
		p.line(PartGround, point{left, 0}, point{right, 0})
	}
}
