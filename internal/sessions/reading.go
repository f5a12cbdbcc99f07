package sessions

import "errors"

// ErrBackwards is returned where the clocks say that the end came before the
// beginning.
var ErrBackwards = errors.New("the clock went backwards during the hold")

// The two clocks a duration can come from.
const (
	ClockMono = "mono" // monotonic: the page ran without a gap
	ClockWall = "wall" // wall clock, across a gap: worth a second look
)

// Reading is one look at a phone's two clocks.
type Reading struct {
	WallMS int64  `json:"wallMS"` // since 1970 UTC
	MonoMS int64  `json:"monoMS"` // since the start of Run
	Run    string `json:"run"`    // one run of the page without a gap
}

// Elapsed returns the milliseconds from start to end, and which clock told.
// Within one run of the page it is the monotonic clock; across a gap (screen
// locked, page frozen or killed) that clock may have stood still, so the wall
// clock tells. It returns ErrBackwards when that went backwards.
func Elapsed(start, end Reading) (ms int64, clock string, err error) {
	mono, wall := end.MonoMS-start.MonoMS, end.WallMS-start.WallMS
	switch {
	case start.Run == end.Run && mono >= 0:
		return mono, ClockMono, nil
	case wall < 0:
		return 0, "", ErrBackwards
	}
	return wall, ClockWall, nil
}

// At returns the reading ms milliseconds after r, in the same run.
func (r Reading) At(ms int64) Reading {
	r.WallMS += ms
	r.MonoMS += ms
	return r
}
