package progression

// Editable names a number of a step that a practice can set; its unit is part of the
// name, and it is stored under it.
type Editable string

// The numbers that a practice can set: the starting dose, the entry gates, the exit gate.
// Postures, sides, cautions, shares of body mass and all rules of pain are not among them.
const (
	EditHold     Editable = "holdMS"
	EditReps     Editable = "reps" // of the first set; each later one is shorter by one
	EditSets     Editable = "sets"
	EditRestRep  Editable = "restRepMS"
	EditRestSet  Editable = "restSetMS"
	EditTime     Editable = "timeMS"
	EntryLegs    Editable = "entryStraightLegMS" // hold in the straight-leg test
	EntryKnees   Editable = "entryBentKneeMS"
	EntryFeet    Editable = "entryFeetRaisedMS"
	ExitReps     Editable = "exitReps" // of the first set
	ExitTime     Editable = "exitTimeMS"
	ExitDistance Editable = "exitDistanceMM"
	ExitSessions Editable = "exitSessions"
	ExitEffort   Editable = "exitEffort"
	ExitPain     Editable = "exitPain"
)

// Editables returns the numbers that a practice can set, in the order they are
// shown.
func Editables() []Editable {
	return []Editable{EditHold, EditReps, EditSets, EditRestRep, EditRestSet, EditTime,
		EntryLegs, EntryKnees, EntryFeet,
		ExitReps, ExitTime, ExitDistance, ExitSessions, ExitEffort, ExitPain}
}

// slot is where a number stands in s, and how many of its stored units one of it is; nil
// for one that the step does not have. The number of sets stands nowhere by itself.
func (s *Step) slot(f Editable) (at *int, per int64) {
	switch f {
	case EditHold:
		return ifSet(&s.Start.HoldS), 1000
	case EditReps:
		if s.Kind != ByCarry {
			return &s.Start.Reps[0], 1
		}
	case EditRestRep:
		return ifSet(&s.Start.RestBetweenRepsS), 1000
	case EditRestSet:
		return &s.Start.RestBetweenSetsS, 1000
	case EditTime:
		return ifSet(&s.Start.TimeS), 1000
	case EntryLegs:
		return s.gate(StraightLeg), 1000
	case EntryKnees:
		return s.gate(BentKnee), 1000
	case EntryFeet:
		return s.gate(FeetElevated), 1000
	case ExitReps:
		if len(s.Exit.Reps) > 0 {
			return &s.Exit.Reps[0], 1
		}
	case ExitTime:
		return ifSet(&s.Exit.TimeS), 1000
	case ExitDistance:
		return ifSet(&s.Exit.DistanceM), 1000
	case ExitSessions:
		return &s.Exit.Sessions, 1
	case ExitEffort:
		return &s.Exit.EffortMax, 1
	case ExitPain:
		return &s.Exit.PainMax, 1
	}
	return nil, 1
}

// ifSet is nil for a number that the step does not have.
func ifSet(at *int) *int {
	if *at == 0 {
		return nil
	}
	return at
}

func (s *Step) gate(p Posture) *int {
	for i := range s.Entry {
		if s.Entry[i].Posture == p {
			return &s.Entry[i].S
		}
	}
	return nil
}

// Value returns a number of s in its stored unit; false for one that the step has not.
func (s Step) Value(f Editable) (int64, bool) {
	if f == EditSets {
		return int64(len(s.Start.Reps)), true
	}
	at, per := s.slot(f)
	if at == nil {
		return 0, false
	}
	return int64(*at) * per, true
}

// placeOf is the shipped place of a step: an order key, as sync/record makes them, with
// room for others before and behind.
func placeOf(order int) string { return string(rune('A' + order - 1)) }

// mostPlace is the longest place in bytes that is read.
const mostPlace = 64

// isPlace reports whether a text can be the place of a step: digits and letters that do
// not end in the lowest, so that there is always room before it.
func isPlace(key string) bool {
	for _, c := range []byte(key) {
		if !(c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z') {
			return false
		}
	}
	return key != "" && len(key) <= mostPlace && key[len(key)-1] != '0'
}

// Beside returns the places between which the step with that id comes to stand when it
// goes one further up in its ladder, or else down; an empty one is the end of the ladder.
// It is false where there is no further.
func (e Edition) Beside(id string, up bool) (before, after string, ok bool) {
	way := 1
	if up {
		way = -1
	}
	for _, l := range e.Ladders() {
		for i, s := range l.Steps {
			if s.ID == id {
				return gap(l.Steps, i, way)
			}
		}
	}
	return "", "", false
}

func gap(steps []Step, i, way int) (before, after string, ok bool) {
	i += way
	if i < 0 || i >= len(steps) {
		return "", "", false
	}
	near, far := steps[i].place, ""
	// Two phones may have chosen one place for two steps: between those there is no room.
	for i += way; i >= 0 && i < len(steps) && far == ""; i += way {
		if steps[i].place != near {
			far = steps[i].place
		}
	}
	if way < 0 {
		return far, near, true
	}
	return near, far, true
}
