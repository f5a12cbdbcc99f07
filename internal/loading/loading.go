// Package loading works out how much sideways load a posture puts on one
// person's trunk, how long that person can bear it, and what a series of holds,
// carries and rests will cost.
//
// It promises estimates with their working: every result says its inputs, steps,
// sources and how unsure it is. Everything here is pure and safe for concurrent
// use. Units are in the names: kg and grams (massG, loadG), metres in drawings,
// millimetres of stature, newtons (N), newton metres (NM), time.Duration.
//
// Design note. The body is a chain of rigid segments in the frontal plane, seen
// from behind, at rest, with frictionless supports except under the feet. The
// sideways moment is taken at the low back, at the level of the disc between the
// fourth and fifth lumbar vertebrae, put at 0.610 of stature above the floor
// (hip line 0.530 plus 0.080; from memory). It is our own statics, not published.
package loading

import (
	"errors"

	"evenhold/internal/sides"
)

// Posture names one way of loading the trunk sideways.
type Posture string

// The postures. In the first five a side of the body faces down; in the other
// four a hand holds a weight.
const (
	WallLean      Posture = "wall_lean"
	BentKnee      Posture = "bent_knee"
	StraightLeg   Posture = "straight_leg"
	FeetElevated  Posture = "feet_elevated"
	TopLegRaised  Posture = "top_leg_raised"
	Suitcase      Posture = "suitcase"
	Rack          Posture = "rack"
	Overhead      Posture = "overhead"
	OneSidedLift  Posture = "one_sided_lift"
	postureCount          = 9
	standingsFrom         = 5 // index of the first posture of the second kind
)

var postures = [postureCount]Posture{
	WallLean, BentKnee, StraightLeg, FeetElevated, TopLegRaised,
	Suitcase, Rack, Overhead, OneSidedLift,
}

// HasWeight reports whether a hand holds a weight in p.
func (p Posture) HasWeight() bool { return p.index() >= standingsFrom }

func (p Posture) index() int {
	for i, q := range postures {
		if p == q {
			return i
		}
	}
	return -1
}

// Arm is where the upper arm of the free side is in a side bridge.
type Arm string

// The positions of the free arm. The empty Arm is ArmAlong.
const (
	ArmAlong  Arm = "along"  // along the body
	ArmAcross Arm = "across" // hand on the other shoulder
	ArmUp     Arm = "up"     // straight away from the trunk
)

// Setup is one posture as a person takes it.
type Setup struct {
	Posture Posture
	Works   sides.Working // the side of the trunk that is meant to work
	Arm     Arm           // side bridges and the wall lean only
	LoadG   int64         // in the hand; postures with a weight only
	// OtherLoadG is in the other hand, at most LoadG; suitcase carry only. It is
	// there to compare a load in one hand with the same load shared.
	OtherLoadG int64
}

// What a caller can act on. FieldError says which field of a body is at fault.
var (
	ErrPosture = errors.New("unknown posture: choose one from the ladder")
	ErrSide    = errors.New("working side not said: say left or right")
	ErrArm     = errors.New("unknown arm position: say along, across or up")
	ErrLoad    = errors.New("load out of range for this posture: check the weight")
	ErrTips    = errors.New("this load would tip the body over: choose a lighter weight")
	ErrShare   = errors.New("share of capacity out of range: choose more than 0, at most 1")
	ErrSpan    = errors.New("series too long or malformed: shorten it")
	ErrUnknown = errors.New("capacity not known yet: test a hold first")
)

// FieldError names the field of a Body without which nothing can be worked out.
type FieldError struct {
	Field   string // "mass" or "stature"
	Missing bool   // false: given, but not plausible
}

func (e *FieldError) Error() string {
	if e.Missing {
		return e.Field + " is missing: enter it to see loads"
	}
	return e.Field + " is not plausible: check the entry"
}

const maxLoadG = 500_000 // ours: far above any carry, so that nothing overflows

func (s Setup) check() error {
	i := s.Posture.index()
	switch {
	case i < 0:
		return ErrPosture
	case s.Works != sides.WorksLeft && s.Works != sides.WorksRight:
		return ErrSide
	case s.Arm != "" && s.Arm != ArmAlong && s.Arm != ArmAcross && s.Arm != ArmUp:
		return ErrArm
	case s.LoadG < 0 || s.LoadG > maxLoadG || s.OtherLoadG < 0 || s.OtherLoadG > s.LoadG:
		return ErrLoad
	case !s.Posture.HasWeight() && s.LoadG > 0:
		return ErrLoad
	case s.Posture != Suitcase && s.OtherLoadG > 0:
		return ErrLoad
	}
	return nil
}
