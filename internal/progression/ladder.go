package progression

import (
	_ "embed"
	"errors"
	"sort"
	"strconv"

	"evenhold/internal/boundary"
)

//go:embed ladders.json
var ladderFile []byte

// builtIn is parsed once: the file is part of the program, so a fault in it is a
// slip in the program and stops it at start, where the tests see it.
var builtIn = mustParse(ladderFile)

// ErrLadder is wrapped by every error of ParseLadders.
var ErrLadder = errors.New("ladder file refused")

// ladderError wraps ErrLadder and what is wrong at the place where.
type ladderError struct {
	where string
	cause error
}

func (e *ladderError) Error() string { return ErrLadder.Error() + ": " + e.where + e.cause.Error() }

func (e *ladderError) Unwrap() []error { return []error{ErrLadder, e.cause} }

// Ladder is one family of steps, easiest first.
type Ladder struct {
	Family  Family
	Version int
	Steps   []Step
}

// Ladders returns the built-in ladders: holds, carries, lifts. Treat them as
// read-only. Their gates and doses are ours and unpublished.
func Ladders() []Ladder { return append([]Ladder(nil), builtIn...) }

// StepByID finds a step of the built-in ladders; false when there is none.
func StepByID(id string) (Step, bool) {
	for _, l := range builtIn {
		for _, s := range l.Steps {
			if s.ID == id {
				return s, true
			}
		}
	}
	return Step{}, false
}

func mustParse(data []byte) []Ladder {
	ladders, err := ParseLadders(data)
	if err != nil {
		panic(err)
	}
	return ladders
}

// The file names faults, cues and cautions without their prefix, and gives the
// answering cue of each fault once.
type ladderJSON struct {
	Faults  map[string]string `json:"faults"`
	Ladders []struct {
		Family  Family     `json:"family"`
		Version int        `json:"version"`
		Steps   []stepJSON `json:"steps"`
	} `json:"ladders"`
}

type stepJSON struct {
	ID             string   `json:"id"`
	Order          int      `json:"order"`
	Version        int      `json:"version"`
	Posture        Posture  `json:"posture"`
	Kind           Kind     `json:"kind"`
	Side           SideRule `json:"side"`
	Cues           []string `json:"cues"`
	Faults         []string `json:"faults"`
	Cautions       []string `json:"cautions"`
	Entry          []Held   `json:"entry"`
	Exit           Exit     `json:"exit"`
	Start          Dose     `json:"start"`
	StartPercent   int      `json:"startPercent"`
	MaxPercent     int      `json:"maxPercent"`
	CanBeFirst     bool     `json:"canBeFirst"`
	SparesShoulder bool     `json:"sparesShoulder"`
	InsteadOf      string   `json:"insteadOf"`
}

// ParseLadders reads ladders from JSON and checks them: identifiers are unique, each
// family's order rises, sides follow the kind of step, and doses and gates are plausible. The
// error names the step and wraps ErrLadder; nothing is returned with it.
func ParseLadders(data []byte) ([]Ladder, error) {
	var file ladderJSON
	if err := boundary.Unmarshal(data, &file); err != nil {
		return nil, &ladderError{"", err}
	}
	seen := map[string]bool{}
	ladders := make([]Ladder, 0, len(file.Ladders))
	for _, l := range file.Ladders {
		ladder := Ladder{Family: l.Family, Version: l.Version}
		for _, raw := range l.Steps {
			step, err := raw.step(l.Family, file.Faults)
			if err == nil && seen[step.ID] {
				err = errors.New("this identifier stands twice")
			}
			if err != nil {
				return nil, &ladderError{"step " + raw.ID + ": ", err}
			}
			seen[step.ID] = true
			ladder.Steps = append(ladder.Steps, step)
		}
		sort.SliceStable(ladder.Steps, func(i, j int) bool {
			return ladder.Steps[i].Order < ladder.Steps[j].Order
		})
		ladders = append(ladders, ladder)
	}
	return ladders, nil
}

func (raw stepJSON) step(f Family, answers map[string]string) (Step, error) {
	s := Step{
		ID: raw.ID, Family: f, Order: raw.Order, Version: raw.Version,
		Posture: raw.Posture, Kind: raw.Kind, Side: raw.Side,
		Name: "step." + raw.ID + ".name", Setup: "step." + raw.ID + ".setup",
		Cues: prefixed("cue.", raw.Cues), Cautions: prefixed("caution.", raw.Cautions),
		Entry: raw.Entry, Exit: raw.Exit, Start: raw.Start,
		StartPercent: raw.StartPercent, MaxPercent: raw.MaxPercent, CanBeFirst: raw.CanBeFirst,
		SparesShoulder: raw.SparesShoulder, InsteadOf: raw.InsteadOf,
		place: placeOf(raw.Order),
	}
	for _, name := range raw.Faults {
		cue, ok := answers[name]
		if !ok {
			return Step{}, errors.New("fault " + name + " has no answering cue")
		}
		s.Faults = append(s.Faults, Fault{Key: "fault." + name, Cue: "cue." + cue})
	}
	return s, s.check()
}

func prefixed(prefix string, names []string) []string {
	keys := make([]string, len(names))
	for i, n := range names {
		keys[i] = prefix + n
	}
	return keys
}

// longestHoldS: holds of about 10 s or less in descending repetitions; common
// practice, from memory, no source.
const longestHoldS = 10

func (s Step) check() error {
	byHand := s.Kind == ByCarry || s.Kind == ByLift
	d := s.Start
	switch {
	case s.ID == "" || s.Order < 1 || s.Order > 26 || s.Version < 1:
		return errors.New("id, an order from 1 to 26 and version are needed")
	case s.Kind != ByHold && s.Kind != ByReps && !byHand:
		return errors.New("unknown kind " + string(s.Kind))
	case s.Side != ByDown && s.Side != ByHand || byHand != (s.Side == ByHand):
		return errors.New("side rule " + string(s.Side) +
			" does not fit kind " + string(s.Kind))
	case byHand != (s.MaxPercent > 0) || s.StartPercent > s.MaxPercent || s.MaxPercent > 50:
		return errors.New("load limits do not fit")
	case len(s.Cues) == 0 || len(s.Cues) > len(editCues) || len(s.Cautions) == 0:
		return errors.New("a step needs one to four cues, and a caution")
	case len(d.Reps) == 0 || d.RestBetweenSetsS < 0 || d.RestBetweenRepsS < 0:
		return errors.New("the starting dose has no sets, or a negative rest")
	case d.HoldS < 0 || d.HoldS > longestHoldS || byHand == (d.HoldS > 0):
		return errors.New("a hold lasts 1 to " + strconv.Itoa(longestHoldS) +
			" s, and a carry or lift has none")
	case s.Exit.Sessions < 1 || s.Exit.EffortMax < 1 || s.Exit.EffortMax > 10:
		return errors.New("the exit gate needs sessions and an effort from 1 to 10")
	case s.Exit.PainMax < 0 || s.Exit.PainMax > painGoOn:
		return errors.New("the exit gate allows pain of 0 to " + strconv.Itoa(painGoOn))
	}
	for _, n := range d.Reps {
		if n < 1 || Check(Reps, int64(n)) != nil {
			return errors.New(strconv.Itoa(n) + " repetitions in a set")
		}
	}
	return nil
}
