package clock

import (
	"cmp"
	"errors"
	"strconv"
	"strings"
)

// Stamp is a point in hybrid logical time: a wall reading, a count that orders what happened
// within one reading, and the device that made it. The zero Stamp is before all others.
type Stamp struct {
	WallMS int64  // milliseconds since 1970-01-01 UTC
	Count  uint32 // order within the same WallMS
	Device Device // who made it; breaks the last tie
}

// ErrStamp says that a text is not a stamp as Stamp.String writes it.
var ErrStamp = errors.New("not a stamp")

// Compare returns -1, 0 or 1: by wall reading, then count, then device.
func (s Stamp) Compare(t Stamp) int {
	return cmp.Or(
		cmp.Compare(s.WallMS, t.WallMS),
		cmp.Compare(s.Count, t.Count),
		cmp.Compare(s.Device, t.Device),
	)
}

// IsZero reports whether s is the zero Stamp, which no device issues.
func (s Stamp) IsZero() bool { return s == Stamp{} }

// String returns "<wallMS>.<count>.<device>".
func (s Stamp) String() string {
	return strconv.FormatInt(s.WallMS, 10) + "." +
		strconv.FormatUint(uint64(s.Count), 10) + "." + s.Device.String()
}

// ParseStamp reads what Stamp.String writes; it returns ErrStamp for any other text and for a
// stamp without a device.
func ParseStamp(text string) (Stamp, error) {
	parts := strings.Split(text, ".")
	if len(parts) != 3 {
		return Stamp{}, ErrStamp
	}
	wallMS, wallErr := strconv.ParseInt(parts[0], 10, 64)
	count, countErr := strconv.ParseUint(parts[1], 10, 32)
	device, deviceErr := ParseDevice(parts[2])
	if wallErr != nil || countErr != nil || deviceErr != nil {
		return Stamp{}, ErrStamp
	}
	s := Stamp{WallMS: wallMS, Count: uint32(count), Device: device}
	if s.String() != text {
		return Stamp{}, ErrStamp
	}
	return s, nil
}
