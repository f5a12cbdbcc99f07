// Package clock orders what many devices do without trusting their clocks: hybrid logical
// stamps as in "Logical Physical Clocks and Consistent Snapshots in Globally Distributed
// Databases", OPODIS 2014, doi:10.1007/978-3-319-14472-6_2.
//
// A stamp follows the wall clock where it can and the order of events where it cannot, so that
// what was done after seeing something is always stamped after it. The package is pure: the
// wall reading is handed in. Wall readings are milliseconds since 1970-01-01 UTC. A Clock is
// not safe for use by several goroutines at once.
package clock

import (
	"errors"
	"math"
)

// MaxAheadMS is how far, in milliseconds, a stamp may lie ahead of the wall reading of whoever
// observes it. Ten minutes is our own choice: far above the error of a phone that a network has
// set, far below a wrong day. No source.
const MaxAheadMS = 10 * 60 * 1000

// ErrFuture says that a stamp lies more than MaxAheadMS ahead of the wall reading.
var ErrFuture = errors.New("stamp lies too far in the future")

// Clock issues the stamps of one device.
//
// Invariant: last is at or after everything issued or observed.
type Clock struct {
	device Device
	last   Stamp
}

// New returns the clock of device. last is the latest stamp that the device issued or observed
// before, the zero Stamp if none.
func New(device Device, last Stamp) *Clock { return &Clock{device: device, last: last} }

// Next issues a stamp later than everything issued or observed, at wallMS if that is possible.
func (c *Clock) Next(wallMS int64) Stamp {
	next := Stamp{WallMS: wallMS, Device: c.device}
	if wallMS <= c.last.WallMS {
		next.WallMS, next.Count = c.last.WallMS, c.last.Count+1
		if c.last.Count == math.MaxUint32 {
			next.WallMS, next.Count = c.last.WallMS+1, 0
		}
	}
	c.last = next
	return next
}

// Observe makes every later stamp come after s. It returns ErrFuture, and the clock does not
// move, when s lies more than MaxAheadMS ahead of wallMS.
func (c *Clock) Observe(s Stamp, wallMS int64) error {
	if s.WallMS-MaxAheadMS > wallMS {
		return ErrFuture
	}
	c.Follow(s)
	return nil
}

// Follow makes every later stamp come after s without a bound. It is for what this device has
// already taken in and is about to build on, where order counts more than the wall.
func (c *Clock) Follow(s Stamp) {
	if s.Compare(c.last) > 0 {
		c.last = s
	}
}

// Last returns the latest stamp issued or observed, to be kept and handed to New.
func (c *Clock) Last() Stamp { return c.last }

// Device returns the device that this clock stamps for.
func (c *Clock) Device() Device { return c.device }
