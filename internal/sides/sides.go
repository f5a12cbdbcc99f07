// Package sides keeps apart the three meanings of "left" and "right" that
// side-to-side trunk work has: the side that faces down in a side bridge, the
// hand that holds a weight, and the side of the trunk that works.
//
// They are distinct types so that one cannot be passed for another. Everything
// here is pure. The empty string is "not said" in each type.
package sides

import "errors"

// ErrUnknown is returned for a word that is neither "left" nor "right".
var ErrUnknown = errors.New("unknown side: say left or right")

const (
	left  = "left"
	right = "right"
)

// Working is the side of the trunk that carries the sideways load.
type Working string

// Down is the side that faces the floor (or the wall) in a side bridge.
type Down string

// Hand is the hand that holds the weight in a carry or a one-sided lift.
type Hand string

// The two values of each type, as they are stored and sent.
const (
	WorksLeft  Working = left
	WorksRight Working = right
	DownLeft   Down    = left
	DownRight  Down    = right
	HandLeft   Hand    = left
	HandRight  Hand    = right
)

// ParseWorking reads "left" or "right"; anything else is ErrUnknown.
func ParseWorking(s string) (Working, error) { return parse[Working](s) }

// ParseDown reads "left" or "right"; anything else is ErrUnknown.
func ParseDown(s string) (Down, error) { return parse[Down](s) }

// ParseHand reads "left" or "right"; anything else is ErrUnknown.
func ParseHand(s string) (Hand, error) { return parse[Hand](s) }

func parse[S ~string](s string) (S, error) {
	if s != left && s != right {
		return "", ErrUnknown
	}
	return S(s), nil
}

func other[S ~string](s S) S {
	switch s {
	case left:
		return right
	case right:
		return left
	}
	return s
}

// Other returns the opposite side, and the empty side for the empty side.
func (w Working) Other() Working { return other(w) }

// Other returns the opposite side, and the empty side for the empty side.
func (d Down) Other() Down { return other(d) }

// Other returns the opposite hand, and the empty hand for the empty hand.
func (h Hand) Other() Hand { return other(h) }

// Works returns the side of the trunk that works in a side bridge on side d:
// the side that faces down (common practice, no source).
func (d Down) Works() Working { return Working(d) }

// Works returns the side of the trunk that works when the weight hangs in hand
// h: the opposite side (common practice, no source).
func (h Hand) Works() Working { return Working(h.Other()) }

// DownFor returns the side to lie on so that w works.
func DownFor(w Working) Down { return Down(w) }

// HandFor returns the hand to carry in so that w works.
func HandFor(w Working) Hand { return Hand(w.Other()) }
