package record

import (
	"cmp"
	"errors"
	"strconv"
	"strings"

	"evenhold/sync/clock"
)

// ID names an operation, and so also the record or document that the operation began: the
// device that made it and that device's running number. The zero ID names nothing.
type ID struct {
	Device clock.Device
	Seq    uint64
}

// ErrID says that a text is not an identifier as ID.String writes it.
var ErrID = errors.New("not an identifier")

// Compare returns -1, 0 or 1: by device, then number.
func (id ID) Compare(other ID) int {
	return cmp.Or(cmp.Compare(id.Device, other.Device), cmp.Compare(id.Seq, other.Seq))
}

// IsZero reports whether id names nothing.
func (id ID) IsZero() bool { return id == ID{} }

// String returns "<device>-<seq>".
func (id ID) String() string {
	return id.Device.String() + "-" + strconv.FormatUint(id.Seq, 10)
}

// ParseID reads what ID.String writes; it returns ErrID for any other text.
func ParseID(text string) (ID, error) {
	deviceText, seqText, found := strings.Cut(text, "-")
	device, deviceErr := clock.ParseDevice(deviceText)
	seq, seqErr := strconv.ParseUint(seqText, 10, 64)
	id := ID{Device: device, Seq: seq}
	if !found || deviceErr != nil || seqErr != nil || seq == 0 || id.String() != text {
		return ID{}, ErrID
	}
	return id, nil
}
