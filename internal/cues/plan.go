package cues

import (
	"time"

	"evenhold/internal/progression"
)

// When cues come within an interval (ours).
const (
	techniqueAt    = 3 * time.Second  // once the position has been taken up
	techniqueEvery = 12 * time.Second // in a long hold or carry
	quietEnd       = 3 * time.Second  // no words into the last three seconds
	halfwayFrom    = 20 * time.Second // the shortest hold with a halfway
	tickWorkFrom   = 6 * time.Second
	tickPauseFrom  = 4 * time.Second
	restSayFrom    = 4 * time.Second
	nextSideFrom   = 8 * time.Second // a rest in which the side is said again
	nextSideBefore = 5 * time.Second
)

// Plan returns the cues of a series with from <= time < from+horizon, in order
// of time. The first words before work on a side name that side, by hand or down
// side and by working side; sayings are at least 2 s apart and do not run into
// each other; there are never more than three flashes in a second. What follows
// an open-ended carry is left out, as its time is not known.
func Plan(series []Interval, from, horizon time.Duration, o Options) []Cue {
	var s sheet
	var at time.Duration
	var said progression.Placement
	for i, in := range series {
		end := at + in.length()
		if in.isWork() {
			if in.Placement != said {
				s.saySide(at, "cue.side.", in.Placement)
				said = in.Placement
			}
			s.work(in, at, end)
			if in.isOpen() {
				break
			}
			if i == len(series)-1 {
				s.say(end, shortSay, byEvent, "cue.set_done", nil)
			}
		} else {
			s.betweenShortHolds(in, series[i:], at, end)
			said = s.pause(in, placementAhead(series[i:]), said, at, end)
		}
		at = end
	}
	return s.window(from, horizon, o)
}

// placementAhead is the placement of an interval without work, or else of the
// work that follows it.
func placementAhead(series []Interval) progression.Placement {
	for _, in := range series {
		if in.Placement != (progression.Placement{}) {
			return in.Placement
		}
	}
	return progression.Placement{}
}

// work plans a hold or carry; one without an end has a start and technique only.
func (s *sheet) work(in Interval, at, end time.Duration) {
	s.signal(at, Start)
	key := "cue." + string(in.Kind)
	var args map[string]float64
	if in.Rep > 0 {
		key += ".count"
		args = map[string]float64{"rep": float64(in.Rep), "reps": float64(in.Reps)}
	}
	s.show(at, key, args)
	if in.isOpen() {
		s.technique(in, 0, at+techniqueAt)
		return
	}
	for n, t := 0, at+techniqueAt; t+shortSay+quietEnd <= end; n, t = n+1, t+techniqueEvery {
		s.technique(in, n, t)
	}
	if length := end - at; length >= halfwayFrom {
		half := at + length/2
		s.sign(half, Beep, Half)
		s.sign(half, Buzz, Half)
		s.say(half, shortSay, byEvent, "cue.halfway", nil)
	}
	s.ticks(at, end, tickWorkFrom)
	s.signal(end, End)
}

func (s *sheet) technique(in Interval, n int, at time.Duration) {
	if len(in.Techniques) == 0 {
		return
	}
	turn := max(in.Rep-1, 0) + n
	s.say(at, shortSay, byTechnique, in.Techniques[turn%len(in.Techniques)], nil)
}

// betweenShortHolds says a technique cue in every second rest before a hold that
// is too short to say one in.
func (s *sheet) betweenShortHolds(rest Interval, series []Interval, at, end time.Duration) {
	if rest.Kind != Rest || rest.Rep%2 != 0 || len(series) < 2 || series[1].Kind != Hold ||
		series[1].length() >= techniqueAt+shortSay+quietEnd {
		return
	}
	if end-at >= restSayFrom {
		at += shortSay
	}
	if at+shortSay <= end {
		s.technique(series[1], 0, at)
	}
}

// pause plans an interval without work and returns the placement last named.
func (s *sheet) pause(in Interval, next, said progression.Placement,
	at, end time.Duration) progression.Placement {
	length := end - at
	if in.Kind == Rest && length >= restSayFrom {
		s.say(at, shortSay, byEvent, "cue.rest", nil)
	}
	s.ticks(at, end, tickPauseFrom)
	switch {
	case length < sideSay:
		return said
	case in.Kind == Ready:
		s.saySide(at, "cue.side.", next)
	case in.Kind == Switch:
		s.saySide(at, "cue.next.", next)
	case next != said || length >= nextSideFrom:
		s.saySide(max(at, end-nextSideBefore), "cue.next.", next)
	}
	return next
}

// ticks counts down the last three seconds of an interval of at least least.
func (s *sheet) ticks(at, end, least time.Duration) {
	if end-at < least {
		return
	}
	for left := 3 * time.Second; left > 0; left -= time.Second {
		s.sign(end-left, Beep, Tick)
	}
}
