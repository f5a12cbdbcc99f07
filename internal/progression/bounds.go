package progression

import (
	"strconv"
	"time"
)

// Quantity names a value that a person can enter; its unit is part of the name.
type Quantity string

// The quantities that are checked on entry. Birth years need the present year
// and have a check of their own, CheckBirthYear.
const (
	HoldMS     Quantity = "hold_ms"
	LoadG      Quantity = "load_g"
	ImplementG Quantity = "implement_g" // a weight that a practice lists
	NoisePM    Quantity = "noise_pm"    // typical error of a test, in parts of a thousand
	People     Quantity = "people"      // in a sample
	DistanceMM Quantity = "distance_mm"
	TimeMS     Quantity = "time_ms" // of one carry
	SessionMS  Quantity = "session_ms"
	Reps       Quantity = "reps"
	Sets       Quantity = "sets" // of one side, and extra ones of the weaker side
	Effort     Quantity = "effort"
	Pain       Quantity = "pain"
	StatureMM  Quantity = "stature_mm"
	MassG      Quantity = "mass_g"
	BirthYear  Quantity = "birth_year"
)

// Bound is the plausible range of a quantity, both ends allowed, in its stored
// unit. A person reads it divided by PerShown, in the unit Shown (UCUM). The
// ranges are ours, no source: wide enough for anyone we could think of.
type Bound struct {
	Min, Max int64
	PerShown int64
	Shown    string
	Key      string // message: what happened, what is safe, what to do
}

// oldestAge is the greatest age in years that a birth year may imply.
const oldestAge = 110

// OutOfBounds says which value was refused and what range is accepted. Key and
// Args are for the person; Error is for a log.
type OutOfBounds struct {
	Quantity Quantity
	Value    int64
	Bound    Bound
}

// Error implements error.
func (e *OutOfBounds) Error() string {
	digits := func(n int64) string { return strconv.FormatInt(n, 10) }
	return string(e.Quantity) + " " + digits(e.Value) +
		" is outside " + digits(e.Bound.Min) + " to " + digits(e.Bound.Max)
}

// Args are the numbers of the message Bound.Key, in the unit people read:
// value, min and max.
func (e *OutOfBounds) Args() map[string]float64 {
	per := float64(e.Bound.PerShown)
	return map[string]float64{
		"value": float64(e.Value) / per,
		"min":   float64(e.Bound.Min) / per,
		"max":   float64(e.Bound.Max) / per,
	}
}

// BoundOf returns the plausible range of q; false for a quantity that has no
// fixed range.
func BoundOf(q Quantity) (Bound, bool) {
	switch q {
	case HoldMS:
		return Bound{0, 1_800_000, 1000, "s", "bounds.hold"}, true
	case LoadG:
		return Bound{0, 150_000, 1000, "kg", "bounds.load"}, true
	case ImplementG:
		return Bound{500, 150_000, 1000, "kg", "bounds.implement"}, true
	case NoisePM:
		return Bound{50, 400, 10, "%", "bounds.noise"}, true
	case People:
		return Bound{2, 100_000, 1, "1", "bounds.people"}, true
	case DistanceMM:
		return Bound{0, 2_000_000, 1000, "m", "bounds.distance"}, true
	case TimeMS:
		return Bound{0, 3_600_000, 1000, "s", "bounds.time"}, true
	case SessionMS:
		return Bound{0, 14_400_000, 60_000, "min", "bounds.session"}, true
	case Reps:
		return Bound{0, 100, 1, "1", "bounds.reps"}, true
	case Sets:
		return Bound{0, 10, 1, "1", "bounds.sets"}, true
	case Effort:
		return Bound{0, 10, 1, "1", "bounds.effort"}, true
	case Pain:
		return Bound{0, 10, 1, "1", "bounds.pain"}, true
	case StatureMM:
		return Bound{800, 2_500, 10, "cm", "bounds.stature"}, true
	case MassG:
		return Bound{20_000, 300_000, 1000, "kg", "bounds.mass"}, true
	}
	return Bound{}, false
}

// Check returns nil when v is plausible for q, and an *OutOfBounds otherwise.
// It panics on a quantity without a fixed range: that is a slip in the program.
func Check(q Quantity, v int64) error {
	b, ok := BoundOf(q)
	if !ok {
		panic("no bound for quantity " + string(q))
	}
	return within(q, v, b)
}

// CheckBirthYear returns nil when year is neither after thisYear nor more than
// 110 years before it, and an *OutOfBounds otherwise.
func CheckBirthYear(year, thisYear int64) error {
	return within(BirthYear, year, Bound{thisYear - oldestAge, thisYear, 1, "a", "bounds.birth_year"})
}

func within(q Quantity, v int64, b Bound) error {
	if v < b.Min || v > b.Max {
		return &OutOfBounds{Quantity: q, Value: v, Bound: b}
	}
	return nil
}

// checkHold refuses a hold shorter than nothing or longer than the bound.
func checkHold(held time.Duration) error { return Check(HoldMS, held.Milliseconds()) }

// EditBound returns what a practice may set a number of a shipped step to, both ends
// allowed; false for a number that the step does not have. The bounds are ours: a hold of
// at most 10 s, at most 2 of 10 of pain and less than a very hard effort before a step is
// left behind, a rest between sets, and no entry gate under half of ours.
func EditBound(shipped *Step, f Editable) (Bound, bool) {
	now, has := shipped.Shown(f)
	for i := range numbers {
		n := &numbers[i]
		if n.Name != f || !has {
			continue
		}
		least := n.least
		if n.Part == EntryPart {
			least = int64(now+1) / 2
		}
		return Bound{least * n.per(), n.most * n.per(), n.per(), n.Unit, "bounds.ladder"}, true
	}
	return Bound{}, false
}

// CheckEdit returns nil when a practice may set f of the shipped step to v, and an
// *OutOfBounds otherwise. ErrLadder says that the step has no such number.
func CheckEdit(shipped *Step, f Editable, v int64) error {
	bound, has := EditBound(shipped, f)
	if !has {
		return ErrLadder
	}
	return within(Quantity(f), v, bound)
}
