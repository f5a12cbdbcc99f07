package planning

import (
	"time"

	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// Week is what seven days of sessions add up to. Days count from 1970, in the time zone
// of each session; both ends belong to the week.
type Week struct {
	FirstDay, LastDay int64
	Sessions          int // finished, with an effort
	Unrated           int // without an effort or an end: not in Load
	Load              progression.Week
	Side              progression.SideWork
	HasBody           bool // false: height or mass is missing, and Side is empty
}

// Weeks returns the last n spans of seven days that end with lastDay, newest first.
func Weeks(d *record.Doc, lastDay, n int) []Week {
	days := map[int]float64{}
	rated, unrated := map[int]int{}, map[int]int{}
	b := Body(d)
	var work []progression.Work
	hasBody := b.MassG > 0 && b.StatureMM > 0
	for _, s := range sessions.Sessions(d) {
		today := dayOf(s)
		load, err := progression.SessionLoad(int(max(s.Effort, 0)),
			milliseconds(s.FinishedMS-s.StartedMS))
		if s.Effort < 0 || s.FinishedMS == 0 || err != nil {
			unrated[today]++
		} else {
			days[today] += load
			rated[today]++
		}
		for _, set := range s.Sets {
			if w, ok := workOf(b, set); ok {
				w.Day = today
				work = append(work, w)
			}
		}
	}
	var weeks []Week
	for i := range n {
		last := lastDay - 7*i
		w := Week{FirstDay: int64(last - 6), LastDay: int64(last), HasBody: hasBody}
		var seven [7]float64
		for j := range seven {
			seven[j] = days[last-6+j]
			w.Sessions += rated[last-6+j]
			w.Unrated += unrated[last-6+j]
		}
		// What a day or a set can add up to is bounded above, so neither can fail.
		w.Load, _ = progression.WeekOf(seven)
		w.Side, _ = progression.WeekWork(work, last)
		weeks = append(weeks, w)
	}
	return weeks
}

func dayOf(s sessions.Session) int {
	return int((s.StartedMS + s.TZMin*60_000) / 86_400_000)
}

// workOf is the sideways work of one set: the moment of its posture and weight, for as
// long as it was held or carried; a lift counts its repetitions at the planned pace.
func workOf(b loading.Body, set sessions.Set) (progression.Work, bool) {
	step, found := progression.StepByID(set.Step)
	if !found || set.Working != sides.WorksLeft && set.Working != sides.WorksRight {
		return progression.Work{}, false
	}
	setup := loading.Setup{Posture: loading.Posture(step.Posture), Works: set.Working}
	length := set.HeldMS
	if setup.Posture.HasWeight() {
		setup.LoadG, length = set.LoadG, set.TimeMS
	}
	if step.Kind == progression.ByLift {
		length = set.Reps * liftRep.Milliseconds()
	}
	statics, err := loading.Load(b, setup)
	if err != nil || length < 0 {
		return progression.Work{}, false
	}
	return progression.Work{
		Works: set.Working, MomentNM: statics.MomentNM,
		Time: min(milliseconds(length), 24*time.Hour),
	}, true
}
