package loading

import (
	"math"

	"evenhold/internal/sides"
	"evenhold/internal/working"
)

// Parts of a drawing that a screen treats apart from the body's segments.
const (
	PartWorks  = "works"  // the flank that works
	PartGround = "ground" // floor, wall or raised support
)

// Line is one piece of a drawing in the frontal plane seen from behind: metres, x
// to the right as seen, y up from the floor. The plumb line is x = 0 and passes
// through the low back.
type Line struct {
	X1, Y1, X2, Y2 float64
	Part           string
}

// Arrow is a force on the body, in newtons, at a point in metres.
type Arrow struct {
	X, Y, FX, FY float64
	Name         string
}

// Newtons is the size of the force.
func (a Arrow) Newtons() float64 { return math.Hypot(a.FX, a.FY) }

// Demand is what a posture asks of the working side, as the endurance and fatigue
// functions take it. A Demand with MomentNM 0 asks nothing.
type Demand struct {
	Posture  Posture
	MomentNM float64
}

// Statics is the load of one posture on one person. Either Down or Hand is said,
// never both, and always together with Works; with equal weights in both hands
// the moment is 0 and Works is the side that the first hand would load.
type Statics struct {
	Demand
	Works         sides.Working
	Down          sides.Down
	Hand          sides.Hand
	LowNM, HighNM float64 // 90 % interval of the moment
	Supports      []Arrow // first the push under elbow, shoulder, wall or right foot
	Weights       []Arrow // weights in the hands
	LowBackX      float64 // 0: the plumb line
	LowBackY      float64
	Lines         []Line
	Working       working.Working
}

// Load works out the statics of setup for b. It returns a *FieldError when mass
// or stature is missing or implausible, and ErrPosture, ErrSide, ErrArm, ErrLoad
// or ErrTips for a setup that cannot be.
func Load(b Body, setup Setup) (Statics, error) {
	if err := b.check(); err != nil {
		return Statics{}, err
	}
	if err := setup.check(); err != nil {
		return Statics{}, err
	}
	s := newShape(b)
	p := s.pose(setup)
	moment, supports := p.solve()
	if supports[0].FY < 0 || supports[1].FY < 0 {
		return Statics{}, ErrTips
	}
	sdNM, parts := spread(s, setup)
	r := Statics{
		Demand: Demand{Posture: setup.Posture, MomentNM: math.Abs(moment)},
		Works:  setup.Works, Supports: supports[:], Weights: p.weights,
		LowBackX: p.lowBack.x, LowBackY: p.lowBack.y, Lines: p.lines,
	}
	r.LowNM = math.Max(0, r.MomentNM-z90*sdNM)
	r.HighNM = r.MomentNM + z90*sdNM
	asBuilt := sides.WorksRight
	if setup.Posture.HasWeight() {
		r.Hand = sides.HandFor(setup.Works)
		asBuilt = sides.WorksLeft
	} else {
		r.Down = sides.DownFor(setup.Works)
	}
	r.plumb(setup.Works != asBuilt)
	r.Working = r.explain(b, setup, p)
	r.Working.Steps = append(r.Working.Steps, parts...)
	return r, nil
}

func (s shape) pose(setup Setup) pose {
	if setup.Posture.HasWeight() {
		return s.standing(setup)
	}
	return s.bridge(setup.Posture, setup.Arm)
}

// solve returns the moment of all that acts on the body above the low back, about
// the low back, in N·m (positive turns the head end up and needs the right side
// to work), and the support forces: the push and the rest.
func (p pose) solve() (momentNM float64, supports [2]Arrow) {
	pivot := point{p.rest.X, p.rest.Y}
	at, direction := point{p.push.X, p.push.Y}, point{p.push.FX, p.push.FY}
	var weightN, aboutPivot float64
	for _, m := range p.masses {
		n := m.kg * gravity
		weightN += n
		aboutPivot += cross(m.at.from(pivot), point{0, -n})
	}
	push := -aboutPivot / cross(at.from(pivot), direction)
	supports[0] = p.push
	supports[0].FX, supports[0].FY = push*direction.x, push*direction.y
	supports[1] = p.rest
	supports[1].FX, supports[1].FY = -supports[0].FX, weightN-supports[0].FY
	if p.pushAbove {
		momentNM = cross(at.from(p.lowBack), point{supports[0].FX, supports[0].FY})
	}
	for _, m := range p.masses {
		if m.above {
			momentNM += cross(m.at.from(p.lowBack), point{0, -m.kg * gravity})
		}
	}
	return momentNM, supports
}

// plumb puts the low back on the plumb line and, when mirror is set, swaps left
// and right.
func (r *Statics) plumb(mirror bool) {
	sign, shift := 1.0, r.LowBackX
	if mirror {
		sign = -1
	}
	swapped := map[string]string{"left_foot": "right_foot", "right_foot": "left_foot"}
	for _, arrows := range [][]Arrow{r.Supports, r.Weights} {
		for i := range arrows {
			a := &arrows[i]
			a.X, a.FX = sign*(a.X-shift), sign*a.FX+0 // + 0 turns −0 into 0
			if other, ok := swapped[a.Name]; ok && mirror {
				a.Name = other
			}
		}
	}
	for i := range r.Lines {
		l := &r.Lines[i]
		l.X1, l.X2 = sign*(l.X1-shift), sign*(l.X2-shift)
	}
	r.LowBackX = 0
}
