package sessions

import (
	"slices"

	"evenhold/internal/sides"
)

// Phases of a led session.
const (
	WorkBefore = "before" // pain is asked before the first set
	WorkReady  = "ready"  // the next set waits
	WorkSeries = "series" // a set of timed holds runs by itself
	WorkCarry  = "carry"  // a carry or lift is under way
	WorkRest   = "rest"   // between sets
	WorkFeel   = "feel"   // all sets done: effort and pain
)

// Turn is one set on one side, as it will be led.
type Turn struct {
	_          [0]func()
	Item       string
	Asked      string
	Step       string
	Cues       string // the practice's own words
	IsHold     bool   // a side bridge: Down; else Hand
	Down       sides.Down
	Hand       sides.Hand
	Working    sides.Working
	Number     int64 // of Of, on this side
	Of         int64
	Reps       int64
	HoldMS     int64
	RestRepMS  int64
	RestSetMS  int64 // after this set
	LoadG      int64
	DistanceMM int64
	TimeMS     int64
}

// ReadyMS is the countdown before the first hold of a set.
const ReadyMS = 5000

// Span is one stretch of a set of holds, in milliseconds from the tap that
// started it.
type Span struct {
	Kind          string // "ready", "hold" or "rest"
	FromMS, EndMS int64
	Rep           int64
}

// Spans returns the series of a set of holds: a countdown, then the holds with
// their rests between.
func (t Turn) Spans() []Span {
	spans := []Span{{Kind: "ready", FromMS: 0, EndMS: ReadyMS, Rep: 1}}
	at := int64(ReadyMS)
	for rep := int64(1); rep <= t.Reps; rep++ {
		spans = append(spans, Span{Kind: "hold", FromMS: at, EndMS: at + t.HoldMS, Rep: rep})
		at += t.HoldMS
		if rep < t.Reps && t.RestRepMS > 0 {
			spans = append(spans, Span{Kind: "rest", FromMS: at, EndMS: at + t.RestRepMS, Rep: rep})
			at += t.RestRepMS
		}
	}
	return spans
}

// LengthMS returns the length of the whole series.
func (t Turn) LengthMS() int64 {
	spans := t.Spans()
	return spans[len(spans)-1].EndMS
}

// DoneBy returns the whole repetitions and the milliseconds held when the
// series has run for elapsedMS.
func (t Turn) DoneBy(elapsedMS int64) (reps, heldMS int64) {
	for _, s := range t.Spans() {
		if s.Kind != "hold" || elapsedMS <= s.FromMS {
			continue
		}
		if elapsedMS >= s.EndMS {
			reps++
		}
		heldMS += min(elapsedMS, s.EndMS) - s.FromMS
	}
	return reps, heldMS
}

// WorkRun is a led session under way, stored at every step.
type WorkRun struct {
	Doc      string
	Session  string // its record
	Plan     string
	Turns    []Turn
	At       int // the turn that is due, or under way
	Phase    string
	Start    Reading // of the series or carry
	RestFrom Reading
	RestMS   int64
	Logged   []string // set records written, for undo
}

// Turns lays out a plan's items: set by set, the first side then the other,
// extra sets of the weaker side at the end of each item, each as long as the
// shortest of its sets. Of counts them for that side alone. A side of a carry or lift
// for which no weight is set has no turn: nobody is led to a weight that nobody named.
func Turns(items []Item, isHold func(step string) bool) []Turn {
	var all []Turn
	for _, item := range items {
		if len(item.Reps) == 0 {
			continue
		}
		add := func(w sides.Working, n, reps int64) {
			if hold := isHold(item.Step); hold || item.LoadG[w] > 0 {
				all = append(all, item.turn(w, n, reps, hold))
			}
		}
		first := item.First
		if first == "" {
			first = sides.WorksLeft
		}
		for n, reps := range item.Reps {
			for _, w := range []sides.Working{first, first.Other()} {
				add(w, int64(n+1), reps)
			}
		}
		least := slices.Min(item.Reps)
		for n := int64(len(item.Reps)); n < item.sets(item.Weaker); n++ {
			add(item.Weaker, n+1, least)
		}
	}
	return all
}

// MostExtraSets bounds what a document can ask for, so that no stored number can
// fill the phone's memory (ours).
const MostExtraSets = 20

// sets returns how many sets a side does; the empty side has no extra ones.
func (i Item) sets(w sides.Working) int64 {
	n := int64(len(i.Reps))
	if w != "" && w == i.Weaker {
		n += min(max(i.ExtraSets, 0), MostExtraSets)
	}
	return n
}

func (i Item) turn(w sides.Working, n, reps int64, isHold bool) Turn {
	t := Turn{
		Item: i.ID.String(), Asked: i.Revision.String(), Step: i.Step, Cues: i.Cues,
		IsHold: isHold, Working: w,
		Number: n, Of: i.sets(w), Reps: reps, HoldMS: i.HoldMS,
		RestRepMS: i.RestRepMS, RestSetMS: i.RestSetMS,
		LoadG: i.LoadG[w], DistanceMM: i.DistanceMM, TimeMS: i.TimeMS,
	}
	if isHold {
		t.Down = sides.DownFor(w)
	} else {
		t.Hand = sides.HandFor(w)
	}
	return t
}

// Turn returns the turn that is due, and false when all are done.
func (r WorkRun) Turn() (Turn, bool) {
	if r.At >= len(r.Turns) {
		return Turn{}, false
	}
	return r.Turns[r.At], true
}

// Adjust changes what is to be carried in the turn that is due and in the
// later turns of the same item on the same side, and the repetitions of the due one:
// values the client sees on the screen before the tap that logs them.
func (r WorkRun) Adjust(reps, loadG, distanceMM, timeMS int64) WorkRun {
	due, ok := r.Turn()
	if !ok {
		return r
	}
	r.Turns = append([]Turn(nil), r.Turns...)
	r.Turns[r.At].Reps = reps
	for i := r.At; i < len(r.Turns); i++ {
		t := &r.Turns[i]
		if t.Item == due.Item && t.Working == due.Working {
			t.LoadG, t.DistanceMM, t.TimeMS = loadG, distanceMM, timeMS
		}
	}
	return r
}

// Begin starts the turn that is due; a rest may be cut short.
func (r WorkRun) Begin(at Reading) (WorkRun, error) {
	turn, ok := r.Turn()
	if !ok || r.Phase != WorkReady && r.Phase != WorkRest {
		return r, ErrPhase
	}
	r.Phase, r.Start = WorkCarry, at
	if turn.IsHold {
		r.Phase = WorkSeries
	}
	return r, nil
}

// End closes the turn under way and returns the set to be written. stop is ""
// for a set done as planned, or one of Stops. A series that ended while the
// phone was away counts as far as it was planned to go by then: ask before.
func (r WorkRun) End(at Reading, stop string) (WorkRun, Set, error) {
	turn, ok := r.Turn()
	if !ok || r.Phase != WorkSeries && r.Phase != WorkCarry {
		return r, Set{}, ErrPhase
	}
	ms, clock, err := Elapsed(r.Start, at)
	if err != nil {
		return r, Set{}, err
	}
	set := turn.set(r.Session, r.Start.WallMS, clock)
	if stop != "" {
		if !slices.Contains(Stops(), stop) {
			return r, Set{}, ErrReason
		}
		set.Stop = stop
	}
	if turn.IsHold {
		set.Reps, set.HeldMS = turn.DoneBy(ms)
	} else {
		set.TimeMS = min(ms, MaxHoldMS)
	}
	return r.after(turn, at), set, nil
}

// Enter logs the turn that is due without timing it: with the values shown.
func (r WorkRun) Enter(at Reading) (WorkRun, Set, error) {
	turn, ok := r.Turn()
	if !ok || r.Phase == WorkSeries || r.Phase == WorkFeel || r.Phase == WorkBefore {
		return r, Set{}, ErrPhase
	}
	set := turn.set(r.Session, at.WallMS, ClockWall)
	set.HeldMS = set.Reps * set.HoldMS
	return r.after(turn, at), set, nil
}

// Skip leaves the turn that is due out.
func (r WorkRun) Skip() (WorkRun, error) {
	if _, ok := r.Turn(); !ok || r.Phase == WorkFeel || r.Phase == WorkBefore {
		return r, ErrPhase
	}
	r.At++
	r.Phase = WorkReady
	if r.At >= len(r.Turns) {
		r.Phase = WorkFeel
	}
	return r, nil
}

// Asked goes on to the first set once pain before it was said.
func (r WorkRun) Asked() (WorkRun, error) {
	if r.Phase != WorkBefore {
		return r, ErrPhase
	}
	r.Phase = WorkReady
	return r, nil
}

// Finish goes on to effort and pain, whatever is left of the plan.
func (r WorkRun) Finish() (WorkRun, error) {
	if r.Phase == WorkSeries || r.Phase == WorkCarry || r.Phase == WorkBefore {
		return r, ErrPhase
	}
	r.Phase = WorkFeel
	return r, nil
}

func (r WorkRun) after(turn Turn, at Reading) WorkRun {
	r.At++
	r.Phase, r.RestFrom, r.RestMS = WorkReady, at, 0
	if r.At >= len(r.Turns) {
		r.Phase = WorkFeel
		return r
	}
	if turn.RestSetMS > 0 {
		r.Phase, r.RestMS = WorkRest, turn.RestSetMS
	}
	return r
}

func (t Turn) set(session string, startedMS int64, clock string) Set {
	return Set{
		Session: session, Item: t.Item, Asked: t.Asked, Step: t.Step, Down: t.Down, Hand: t.Hand,
		Working: t.Working, Number: t.Number, Reps: t.Reps, HoldMS: t.HoldMS, LoadG: t.LoadG,
		DistanceMM: t.DistanceMM, TimeMS: t.TimeMS, StartedMS: startedMS, Clock: clock,
	}
}
