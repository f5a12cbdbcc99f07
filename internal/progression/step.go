// Package progression holds the ladders of exercises and decides what to
// suggest next: a first plan after a test, and after each session or test to
// progress, stay, ease, retest or refer. It also keeps the weekly totals and
// the plausible range of every entered value.
//
// It suggests and never decides for a person: a red flag or a pain rule stops a
// suggestion and says whom to ask, and every rule that fired is returned with
// its numbers and its source.
//
// Everything here is pure. Text is given as message keys; words_en.json has the
// English. Units: whole seconds (S), metres (M), grams (G), or time.Duration.
package progression

import "evenhold/internal/sides"

// Family is one ladder: steps that replace each other.
type Family string

// The three ladders.
const (
	Holds   Family = "holds"
	Carries Family = "carries"
	Lifts   Family = "lifts"
)

// Posture is how a step loads the trunk, as the statics know it.
type Posture string

// The postures that a step can name.
const (
	WallLean     Posture = "wall_lean"
	BentKnee     Posture = "bent_knee"
	StraightLeg  Posture = "straight_leg"
	FeetElevated Posture = "feet_elevated"
	TopLegRaised Posture = "top_leg_raised"
	Suitcase     Posture = "suitcase"
	Rack         Posture = "rack"
	Overhead     Posture = "overhead"
	OneSidedLift Posture = "one_sided_lift"
)

// Kind is what one repetition is made of.
type Kind string

// The kinds of step. ByReps is a hold posture worked through a movement.
const (
	ByHold  Kind = "hold"
	ByReps  Kind = "reps"
	ByCarry Kind = "carry"
	ByLift  Kind = "lift"
)

// SideRule says by which of the body's sides a step is named, and so which
// side of the trunk works.
type SideRule string

// ByDown: the down side works. ByHand: the side opposite the hand works. Both
// are common practice, no source.
const (
	ByDown SideRule = "down"
	ByHand SideRule = "hand"
)

// Placement is how a person takes up a step: the side that faces down or the
// hand that holds the weight, and the side that then works. Exactly one of Down
// and Hand is set.
type Placement struct {
	Down  sides.Down
	Hand  sides.Hand
	Works sides.Working
}

// Place returns the placement in which w works. For an unknown w it is empty.
func (s Step) Place(w sides.Working) Placement {
	if s.Side == ByHand {
		return Placement{Hand: sides.HandFor(w), Works: w}
	}
	return Placement{Down: sides.DownFor(w), Works: w}
}

// Key is the placement as a message key's last part, e.g. "down_left" or
// "hand_right"; empty for an empty placement.
func (p Placement) Key() string {
	switch {
	case p.Hand != "":
		return "hand_" + string(p.Hand)
	case p.Down != "":
		return "down_" + string(p.Down)
	}
	return ""
}

// Held is a tested hold of at least S seconds in a posture.
type Held struct {
	Posture Posture `json:"posture"`
	S       int     `json:"s"`
}

// Exit is what must be done before the step is left behind: the dose to be
// reached, in so many sessions in a row, at no more than this effort and pain.
type Exit struct {
	Reps      []int `json:"reps,omitempty"`
	DistanceM int   `json:"distanceM,omitempty"`
	TimeS     int   `json:"timeS,omitempty"`
	Sessions  int   `json:"sessions"`
	EffortMax int   `json:"effortMax"`
	PainMax   int   `json:"painMax"`
}

// Fault is something to look for, and the technique cue that answers it; both
// are message keys.
type Fault struct {
	Key string
	Cue string
}

// Step is one rung of a ladder. Name, Setup, Cues and Cautions are message keys; a cue
// can be a practice's own words, see OwnWords.
type Step struct {
	ID      string
	Family  Family
	Order   int // 1 is the easiest, as we hold it, wherever a practice puts the step
	Version int // rises when the meaning of the step changes
	Posture Posture
	Kind    Kind
	Side    SideRule

	Name     string
	Setup    string
	Cues     []string
	Faults   []Fault
	Cautions []string

	// Entry: any one of these, tested on the weaker side, opens the step; none
	// means that it is open to everyone.
	Entry []Held
	Exit  Exit
	Start Dose

	// StartPercent and MaxPercent are the load to begin with and the guard, in
	// percent of body mass; 0 for a step without a weight.
	StartPercent int
	MaxPercent   int

	CanBeFirst     bool   // a first plan may hold this step
	SparesShoulder bool   // fit for a sore shoulder
	InsteadOf      string // the step it replaces for a sore shoulder; else empty

	Hidden bool   // by the practice: not suggested
	place  string // in the ladder: an order key
}

// fits reports whether s can be suggested: not hidden, and fit for a sore shoulder or no
// stand-in for one.
func (s Step) fits(isShoulderSore bool) bool {
	if isShoulderSore {
		return !s.Hidden && s.SparesShoulder
	}
	return !s.Hidden && s.InsteadOf == ""
}

// IsOpen reports whether a hold of heldS seconds in posture p passes the entry
// gate, and the seconds that the gate asks for in that posture (0 if it asks for
// none). A posture that the gate does not name does not open it.
func (s Step) IsOpen(p Posture, heldS int) (open bool, gateS int) {
	if len(s.Entry) == 0 {
		return true, 0
	}
	for _, h := range s.Entry {
		if h.Posture == p {
			return heldS >= h.S, h.S
		}
	}
	return false, 0
}

// Dose is how much of one step is done by one working side.
type Dose struct {
	HoldS            int           `json:"holdS,omitempty"`
	Reps             []int         `json:"reps"` // repetitions of each set, e.g. 5, 4, 3
	RestBetweenRepsS int           `json:"restBetweenRepsS,omitempty"`
	RestBetweenSetsS int           `json:"restBetweenSetsS"`
	LoadG            int64         `json:"loadG,omitempty"` // 0: none, or not chosen yet
	DistanceM        int           `json:"distanceM,omitempty"`
	TimeS            int           `json:"timeS,omitempty"`
	FirstSide        sides.Working `json:"firstSide,omitempty"`
	ExtraSetsWeaker  int           `json:"extraSetsWeaker,omitempty"` // done by FirstSide alone
}

// Sets returns the repetitions of each set that side w does: Reps, and for the
// first side the extra sets, each as long as the shortest of Reps.
func (d Dose) Sets(w sides.Working) []int {
	sets := append([]int(nil), d.Reps...)
	if w != d.FirstSide || len(d.Reps) == 0 {
		return sets
	}
	least := d.Reps[0]
	for _, n := range d.Reps {
		least = min(least, n)
	}
	for range d.ExtraSetsWeaker {
		sets = append(sets, least)
	}
	return sets
}
