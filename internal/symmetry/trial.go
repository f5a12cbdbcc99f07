package symmetry

import (
	"time"

	"evenhold/internal/sides"
)

// Stop is why a hold ended. It decides what the hold may be read as.
type Stop string

// The reasons. Position and GaveUp end a hold because the trunk could not go
// on, so the time is a value. ArmShoulder, Elsewhere, Pain and Limit end it for another
// reason: the trunk could have held for this long or longer, so the time is a
// lower bound. TesterError says nothing, and so does any other word.
const (
	Position    Stop = "position"
	GaveUp      Stop = "gave_up"
	ArmShoulder Stop = "arm_shoulder"
	Elsewhere   Stop = "elsewhere"
	Pain        Stop = "pain"
	Limit       Stop = "limit"
	TesterError Stop = "tester_error"
)

// The shortest and longest hold that is read as one. Outside these the entry is
// more likely a slip than a hold; it is counted as left out and not used.
const (
	shortest = time.Second
	longest  = time.Hour
)

// Timed is one timed hold and why it ended.
type Timed struct {
	Hold time.Duration
	Stop Stop
}

// Trial is one timed hold of one working side. Trials with the same Visit were
// done on the same day and share how the person was that day.
type Trial struct {
	Side  sides.Working
	Hold  time.Duration
	Stop  Stop
	Visit int
}

// IsValue reports whether the hold is read as a value, not as a lower bound or nothing.
func (t Timed) IsValue() bool { return t.reading() == value }

// reading is what a hold may be read as.
type reading int

const (
	leftOut reading = iota
	value
	bound // the true hold is this long or longer
)

func (t Timed) reading() reading {
	if t.Hold < shortest || t.Hold > longest {
		return leftOut
	}
	switch t.Stop {
	case Position, GaveUp:
		return value
	case ArmShoulder, Elsewhere, Pain, Limit:
		return bound
	}
	return leftOut
}

func (t Trial) reading() reading {
	if t.Side != sides.WorksLeft && t.Side != sides.WorksRight {
		return leftOut
	}
	return Timed{t.Hold, t.Stop}.reading()
}

// Count says how the trials of one side were read.
type Count struct {
	Values int // holds read as a value
	Bounds int // holds read as a lower bound
}
