// Package cues works out what to say, show, beep and buzz, and when, during a
// series of holds, rests and carries, and during the side-hold test.
//
// It is handed the series and a window of time and returns the cues of that
// window; a window that begins after a gap holds nothing of the gap, so cues
// never come in a burst. Text is given as message keys; words_en.json has the
// English. Everything here is pure. Times in Cue are milliseconds from the start
// of the series.
package cues

import (
	"time"

	"evenhold/internal/progression"
	"evenhold/internal/sides"
)

// Kind is what an interval is for.
type Kind string

// The kinds of interval. Carry is also used for a set of lifts.
const (
	Ready  Kind = "ready"
	Hold   Kind = "hold"
	Rest   Kind = "rest"
	Switch Kind = "switch" // changing sides
	Carry  Kind = "carry"
)

// Interval is one stretch of a series. Placement is the down side or hand, and
// the side that works; of an interval without work it is the placement to come,
// and may be empty when a work interval follows. A Carry of Length 0 lasts until
// the person says so: it must be the last. Rep and Set count from 1; 0 is none.
type Interval struct {
	Kind       Kind
	Length     time.Duration
	Step       string
	Placement  progression.Placement
	Rep, Reps  int
	Set, Sets  int
	Techniques []string // message keys of the step's technique cues, in turn
}

// isWork reports whether the trunk works in this interval.
func (i Interval) isWork() bool { return i.Kind == Hold || i.Kind == Carry }

// isOpen reports whether the end of the interval is not known.
func (i Interval) isOpen() bool { return i.Kind == Carry && i.Length == 0 }

// mostLength caps an interval, so that no sum can run over.
const mostLength = 2 * time.Hour

func (i Interval) length() time.Duration { return min(max(i.Length, 0), mostLength) }

// readyLength is the time to take up a position (ours).
const readyLength = 5 * time.Second

// Expand builds one set for one working side: ready, then the repetitions with
// their rests. Set counts from 1; a set that the dose does not have gives nil. A
// carry by distance and a set of lifts become one open-ended interval.
func Expand(d progression.Dose, s progression.Step, works sides.Working, set int) []Interval {
	sets := d.Sets(works)
	if set < 1 || set > len(sets) {
		return nil
	}
	base := Interval{Step: s.ID, Placement: s.Place(works), Reps: sets[set-1], Set: set,
		Sets: len(sets), Techniques: s.Cues}
	work := base
	work.Kind, work.Length = Hold, seconds(d.HoldS)
	if s.Kind == progression.ByCarry || s.Kind == progression.ByLift {
		work.Kind, work.Length = Carry, seconds(d.TimeS)
	}
	ready, rest := base, base
	ready.Kind, ready.Length = Ready, readyLength
	rest.Kind, rest.Length = Rest, seconds(d.RestBetweenRepsS)
	series := []Interval{ready}
	for rep := 1; rep <= work.Reps; rep++ {
		work.Rep, rest.Rep = rep, rep
		if rep > 1 && rest.Length > 0 {
			series = append(series, rest)
		}
		if work.isOpen() {
			work.Rep = 0
			return append(series, work)
		}
		series = append(series, work)
	}
	return series
}

func seconds(s int) time.Duration { return time.Duration(s) * time.Second }
