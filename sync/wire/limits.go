package wire

import (
	"errors"

	"evenhold/sync/record"
)

// Bounds of what a decoder takes. They keep memory flat whatever arrives; our own choice.
const (
	MaxBodyBytes     = 1 << 20 // of a request
	MaxPush          = 500     // operations in a request
	MaxPulls         = 400     // documents asked for in a request
	MaxPageOps       = 2000    // operations in one page
	MaxResponseOps   = 8000    // operations in all pages of a response
	MaxResponseBytes = 8 << 20 // of a response
	MaxListed        = 2000    // entries of any other list of a response
	MaxCodeBytes     = 200     // of a code or a reason
	MaxOperations    = 1 << 17 // in a list of operations
	MaxSnapshotOps   = 1 << 20 // in a snapshot
	MaxSnapshotBytes = 64 << 20

	// These three are wider than what Operation.Check allows, so that one bad operation is
	// refused by itself and does not take the rest of its frame with it.
	maxNameBytes  = 1 << 10
	maxValueBytes = 1 << 16
	maxReplaces   = 2 * record.MaxReplaces
)

// The closed list of what a decoder returns. After any of them nothing was decoded.
var (
	ErrVersion   = errors.New("bytes are of a format version this program does not know")
	ErrType      = errors.New("bytes are another type of frame")
	ErrMalformed = errors.New("bytes are cut short or damaged")
	ErrLimit     = errors.New("frame holds more than its limits allow")
	ErrChecksum  = errors.New("snapshot does not match its checksum")
)
