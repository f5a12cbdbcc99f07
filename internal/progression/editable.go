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

// What else a practice can say of a step, by the names it is stored under: that it is
// hidden (the number 1), its place (an order key within the ladder), and its own words for
// a cue.
const (
	EditHidden = "hidden"
	EditPlace  = "place"
)

// editCues are the names of the cues, by place.
var editCues = [...]string{"cue1", "cue2", "cue3", "cue4"}

// EditCues returns the name of each cue of s, by place.
func (s *Step) EditCues() []string { return editCues[:len(s.Cues)] }

// Part is where a number of a step stands: its starting dose, what opens it, or what it
// takes to go on.
type Part int

// The parts, in the order they are shown.
const (
	StartPart Part = iota
	EntryPart
	ExitPart
)

// Number is a number that a practice can set: what one touch changes it by, in the unit
// people read, and which one that is: "s", "m", "sets", "reps" or "none".
type Number struct {
	Name        Editable
	Part        Part
	By          int
	Unit        string
	least, most int64 // in that unit; EditBound says why
}

// numbers are all of them, in the order they are shown.
var numbers = [...]Number{
	{EditSets, StartPart, 1, "sets", 1, 5},
	{EditReps, StartPart, 1, "reps", 1, 12},
	{EditHold, StartPart, 1, "s", 1, longestHoldS},
	{EditTime, StartPart, 5, "s", 5, 120},
	{EditRestRep, StartPart, 1, "s", 2, 60},
	{EditRestSet, StartPart, 15, "s", 15, 600},
	{EntryLegs, EntryPart, 5, "s", 0, 300},
	{EntryKnees, EntryPart, 5, "s", 0, 300},
	{EntryFeet, EntryPart, 5, "s", 0, 300},
	{ExitReps, ExitPart, 1, "reps", 2, 20},
	{ExitTime, ExitPart, 5, "s", 10, 300},
	{ExitDistance, ExitPart, 5, "m", 10, 500},
	{ExitSessions, ExitPart, 1, "none", 1, 10},
	{ExitEffort, ExitPart, 1, "none", 3, effortVeryHard - 1},
	{ExitPain, ExitPart, 1, "none", 0, painGoOn},
}

// Numbers returns the numbers that a practice can set.
func Numbers() []Number { return numbers[:] }

// per is how many of its stored units one of its shown units is.
func (n *Number) per() int64 {
	if n.Unit == "s" || n.Unit == "m" {
		return 1000
	}
	return 1
}

// slot is where a number stands in s, in its shown unit; nil for one that the step does
// not have. The number of sets stands nowhere by itself.
func (s *Step) slot(f Editable) *int {
	at := &s.Start.HoldS
	switch f {
	case EditHold:
	case EditRestRep:
		at = &s.Start.RestBetweenRepsS
	case EditRestSet:
		return &s.Start.RestBetweenSetsS
	case EditTime:
		at = &s.Start.TimeS
	case ExitTime:
		at = &s.Exit.TimeS
	case ExitDistance:
		at = &s.Exit.DistanceM
	case EntryLegs:
		return s.gate(StraightLeg)
	case EntryKnees:
		return s.gate(BentKnee)
	case EntryFeet:
		return s.gate(FeetElevated)
	case ExitSessions:
		return &s.Exit.Sessions
	case ExitEffort:
		return &s.Exit.EffortMax
	case ExitPain:
		return &s.Exit.PainMax
	case EditReps:
		at = &s.Start.Reps[0]
		if s.Kind == ByCarry {
			return nil
		}
	case ExitReps:
		if len(s.Exit.Reps) == 0 {
			return nil
		}
		at = &s.Exit.Reps[0]
	default:
		return nil
	}
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

// Shown returns a number of s in the unit that people read; false for one that the step
// does not have.
func (s *Step) Shown(f Editable) (int, bool) {
	if f == EditSets {
		return len(s.Start.Reps), true
	}
	at := s.slot(f)
	if at == nil {
		return 0, false
	}
	return *at, true
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
	for _, l := range e.Ladders() {
		for i := range l.Steps {
			if l.Steps[i].ID == id {
				return gap(l.Steps, i, up)
			}
		}
	}
	return "", "", false
}

func gap(steps []Step, i int, up bool) (before, after string, ok bool) {
	way := 1
	if up {
		way = -1
	}
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
	if up {
		return far, near, true
	}
	return near, far, true
}
