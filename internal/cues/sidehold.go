package cues

import (
	"time"

	"evenhold/internal/progression"
	"evenhold/internal/sides"
)

// SideHold is one trial of the side-hold test, from hips up. TellTime says each
// 30 s; it is off by default and should be the same in every test, as hearing the
// time changes the effort. WarnedAt is when the one warning about the position
// was given; 0 is not yet. Limit ends the trial; 0 is no limit.
type SideHold struct {
	Down     sides.Down
	Limit    time.Duration
	WarnedAt time.Duration
	TellTime bool
}

const tellEvery = 30 * time.Second

// Plan returns the cues of the trial with from <= time < from+horizon, in order
// of time. There is no encouragement, no technique and no halfway.
func (h SideHold) Plan(from, horizon time.Duration, o Options) []Cue {
	var s sheet
	s.signal(0, Start)
	s.saySide(0, "cue.side.", progression.Placement{Down: h.Down, Works: h.Down.Works()})
	if h.WarnedAt > 0 {
		s.signal(h.WarnedAt, Half)
		s.say(h.WarnedAt, shortSay, bySide, "cue.test.warning", nil)
	}
	end := mostLength
	if h.Limit > 0 {
		end = min(h.Limit, mostLength)
		s.signal(end, End)
		s.say(end, shortSay, byEvent, "cue.test.limit", nil)
	}
	if h.TellTime {
		for at := tellEvery; at < end; at += tellEvery {
			s.say(at, shortSay, byTechnique, "cue.test.time", map[string]float64{"s": at.Seconds()})
		}
	}
	return s.window(from, horizon, o)
}
