package app

import (
	"time"

	"evenhold/internal/cues"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
)

// horizon is how far ahead the page is handed its cues, so that sound never
// waits for the core; longer series are asked for again.
const horizon = 10 * time.Minute

var everyChannel = cues.Options{Beep: true, Buzz: true, Flash: true, Voice: true}

// seriesCues are the cues of a set from a moment on: what lies before is
// skipped, so that nothing bursts after a gap.
func seriesCues(turn sessions.Turn, step progression.Step, fromMS int64) []Cue {
	dose := progression.Dose{
		HoldS: int(turn.HoldMS / 1000), Reps: []int{int(turn.Reps)},
		RestBetweenRepsS: int(turn.RestRepMS / 1000), FirstSide: turn.Working,
	}
	series := cues.Expand(dose, step, turn.Working, 1)
	from := time.Duration(fromMS) * time.Millisecond
	return pageCues(cues.Plan(series, from, horizon, everyChannel))
}

// carryCues are the cues of a carry or a set of lifts, whose end is not known.
func carryCues(turn sessions.Turn, step progression.Step) []Cue {
	series := []cues.Interval{{
		Kind: cues.Carry, Step: step.ID, Placement: step.Place(turn.Working),
		Rep: 1, Reps: 1, Techniques: step.Cues,
	}}
	return pageCues(cues.Plan(series, 0, horizon, everyChannel))
}

// restCues lead out of a rest and name the side that is next.
func restCues(restMS int64, step progression.Step, next sessions.Turn) []Cue {
	series := []cues.Interval{{
		Kind: cues.Rest, Length: time.Duration(restMS) * time.Millisecond, Step: step.ID,
		Placement: step.Place(next.Working),
	}}
	return pageCues(cues.Plan(series, 0, horizon, everyChannel))
}

func pageCues(planned []cues.Cue) []Cue {
	all := make([]Cue, 0, len(planned))
	for _, c := range planned {
		out := Cue{AtMS: c.AtMS, Channel: string(c.Channel), Tone: string(c.Tone)}
		if c.Key != "" {
			out.Text = cueText(c.Key, c.Args)
		}
		all = append(all, out)
	}
	return all
}
