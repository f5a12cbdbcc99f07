// Package dose is the search for the doses of one plan, by itself, for the bench: an invented
// person whose sides are known, a hold, a carry and a lift. Times are the caller's.
package dose

import (
	"errors"
	"time"

	"evenhold/internal/loading"
	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sides"
)

// Search is one plan whose doses can be searched again and again.
type Search struct {
	known     planning.Capacities
	suggested progression.Suggestion
}

// New begins a search for someone of 70 kg and 1.75 m who held 60 s on the left and 90 s on the
// right.
func New() (Search, error) {
	var efforts []loading.Effort
	for i, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
		efforts = append(efforts, loading.Effort{
			AtMS: 1, Held: time.Duration(60+30*i) * time.Second, End: loading.GaveWay,
			Setup: loading.Setup{Posture: loading.StraightLeg, Works: w},
		})
	}
	b := loading.Body{MassG: 70_000, StatureMM: 1750}
	left, errLeft := loading.Estimate(b, sides.WorksLeft, efforts)
	right, errRight := loading.Estimate(b, sides.WorksRight, efforts)
	s := Search{known: planning.Capacities{Left: left, Right: right}}
	for _, id := range []string{"straight_leg_hold", "suitcase_carry", "raised_suitcase_deadlift"} {
		step, found := progression.StepByID(id)
		if !found {
			return s, errors.New("no step " + id)
		}
		s.suggested.Items = append(s.suggested.Items, progression.Item{
			StepID: id, WorksLeft: step.Start, WorksRight: step.Start,
		})
	}
	return s, errors.Join(errLeft, errRight)
}

// Run searches all doses and returns how many were compared.
func (s Search) Run() int {
	tried := 0
	for _, fit := range planning.PrescribeFor(s.known, true, planning.Practice{}, s.suggested).Fits {
		tried += fit.Tried
	}
	return tried
}
