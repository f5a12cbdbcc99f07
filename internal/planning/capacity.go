package planning

import (
	"time"

	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// Capacities is what a client's record tells of each working side.
type Capacities struct {
	Left, Right loading.Capacity
}

// Of returns the capacity of working side w.
func (c Capacities) Of(w sides.Working) loading.Capacity {
	if w == sides.WorksRight {
		return c.Right
	}
	return c.Left
}

// Capacity learns both sides from every tested hold and every logged set. It returns a
// *loading.FieldError that names height or body mass when one is missing.
func Capacity(d *record.Doc) (Capacities, error) {
	b := Body(d)
	efforts := Efforts(d)
	left, err := loading.Estimate(b, sides.WorksLeft, efforts)
	if err != nil {
		return Capacities{}, err
	}
	right, err := loading.Estimate(b, sides.WorksRight, efforts)
	return Capacities{left, right}, err
}

// Body is the client as the statics read one.
func Body(d *record.Doc) loading.Body {
	client, _ := sessions.ClientIn(d)
	return loading.Body{
		MassG: client.MassG, StatureMM: int(client.StatureMM), Sex: client.Sex,
	}
}

// Efforts are a record's tested holds and logged sets of holds and carries. Lifts are
// left out: the time of a set of lifts is not the time under its weight. What was said
// of the whole session's effort goes with the last holds of each side, and not at all when
// the session hurt more than 2 of 10: then it speaks of pain (ours). A carry within its guard
// is the lesser part of a session: read as its effort, the trunk would seem spent by a weight
// that it hardly feels.
func Efforts(d *record.Doc) []loading.Effort {
	var all []loading.Effort
	for _, t := range sessions.Tests(d) {
		step, _ := progression.StepByID(t.Step)
		for _, trial := range t.Trials {
			end := loading.AtLeast
			switch {
			case trial.Stop == sessions.StopTesterError:
				end = loading.Void
			case trial.IsValue():
				end = loading.GaveWay
			}
			all = append(all, loading.Effort{
				AtMS: trial.StartedMS, End: end, Held: milliseconds(trial.HeldMS),
				Setup: loading.Setup{
					Posture: loading.Posture(step.Posture), Works: trial.Working,
				},
			})
		}
	}
	items := map[string]sessions.Item{}
	for _, i := range sessions.Items(d) {
		items[i.ID.String()] = i
	}
	for _, s := range sessions.Sessions(d) {
		last := map[sides.Working]int{}
		for _, set := range s.Sets {
			if e, ok := effortOf(set, items[set.Item]); ok {
				if e.Reps > 0 {
					last[set.Working] = len(all)
				}
				all = append(all, e)
			}
		}
		if s.Effort < 0 || s.Pain > painGoOn {
			continue
		}
		for _, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
			if at, found := last[w]; found && all[at].End == loading.AtLeast {
				all[at].Exertion = int(s.Effort)
			}
		}
	}
	return all
}

// painGoOn: pain-monitoring model, Am J Sports Med 2007;35(6):897-906,
// doi:10.1177/0363546506298279, from memory.
const painGoOn = 2

// effortOf reads a set. A hold that was given up or lost its position is a value of the
// repetitions begun; a carry only when the position was lost, for a grip gives up first.
// The rest between repetitions is that of item, or the ladder's where it is another step.
func effortOf(set sessions.Set, item sessions.Item) (loading.Effort, bool) {
	step, found := progression.StepByID(set.Step)
	if !found || step.Kind == progression.ByLift {
		return loading.Effort{}, false
	}
	rest := milliseconds(item.RestRepMS)
	if item.Step != set.Step {
		rest = time.Duration(step.Start.RestBetweenRepsS) * time.Second
	}
	e := loading.Effort{
		AtMS: set.StartedMS, End: loading.AtLeast, Rest: rest,
		Setup: loading.Setup{Posture: loading.Posture(step.Posture), Works: set.Working},
	}
	if step.Kind == progression.ByCarry {
		e.Setup.LoadG, e.Held, e.Rest = set.LoadG, milliseconds(set.TimeMS), 0
		if set.Stop == sessions.StopPosition {
			e.End = loading.GaveWay
		}
		return e, true
	}
	reps := set.Reps
	if set.Stop == sessions.StopPosition || set.Stop == sessions.StopGaveUp {
		e.End = loading.GaveWay
		reps++
	}
	if reps < 1 {
		return e, false
	}
	e.Reps, e.Held = int(reps), milliseconds(set.HeldMS/reps)
	return e, true
}

func milliseconds(n int64) time.Duration { return time.Duration(n) * time.Millisecond }
