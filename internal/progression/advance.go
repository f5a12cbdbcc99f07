package progression

import "slices"

// What a dose grows by in one step of progress: repetitions, not seconds
// (common practice, from memory), and for a carry its time or distance (ours).
const (
	careFewer     = 2
	growReps      = 1
	growTimeS     = 10
	growDistanceM = 10

	// startDistanceM is where a carry by distance begins again with a new load.
	startDistanceM = 20
)

// progress makes the dose larger, the load heavier or the step harder. When the
// next step's gate has not been tested it asks for a retest instead.
func (e Evidence) progress(s Step, out *Decision) {
	left, right := e.Item.WorksLeft, e.Item.WorksRight
	newest, _ := e.newest()
	nextL, jumpL, okL := heavier(s, left.LoadG, e.MassG, e.Implements)
	nextR, jumpR, okR := heavier(s, right.LoadG, e.MassG, e.Implements)
	jump := max(jumpL, jumpR)
	canLoad := okL && okR && jump <= jumpMaxPercent
	loadRule := []number{num("percent", jump), num("loadKG", kg(max(nextL, nextR)))}

	if canLoad && newest.RepsAbove >= 1 && min(jumpL, jumpR) >= loadUpMinPercent &&
		jump <= loadUpMaxPercent {
		left.LoadG, right.LoadG = nextL, nextR
		out.move(s, left, right, fired("load_up", loadRule...))
		return
	}
	growL, ruleL, okGrowL := grown(left, s.Exit)
	growR, ruleR, okGrowR := grown(right, s.Exit)
	switch {
	case okGrowL:
		out.move(s, growL, growR, ruleL)
	case okGrowR:
		out.move(s, growL, growR, ruleR)
	case canLoad:
		left, right = reset(left, s, nextL), reset(right, s, nextR)
		out.move(s, left, right, fired("load_jump", loadRule...))
	default:
		e.nextStep(s, out)
	}
}

// reset goes back to the starting size of a step with a new load, and keeps what
// the coach has set: rests, first side and extra sets.
func reset(d Dose, s Step, loadG int64) Dose {
	d.LoadG, d.Reps = loadG, s.Start.Reps
	if d.TimeS > 0 {
		d.TimeS = min(d.TimeS, s.Start.TimeS)
	}
	if d.DistanceM > 0 {
		d.DistanceM = min(d.DistanceM, startDistanceM)
	}
	return d
}

// grown returns the next larger dose below the exit gate, or false at the gate.
func grown(d Dose, exit Exit) (Dose, Fired, bool) {
	if len(exit.Reps) > 0 {
		if d.Reps[0] >= exit.Reps[0] {
			return d, Fired{}, false
		}
		reps := make([]int, len(d.Reps))
		for i, n := range d.Reps {
			reps[i] = n + growReps
		}
		d.Reps = reps
		return d, fired("more_reps", num("reps", growReps)), true
	}
	if d.TimeS > 0 && d.TimeS < exit.TimeS {
		d.TimeS = min(d.TimeS+growTimeS, exit.TimeS)
		return d, fired("more_time", num("timeS", d.TimeS)), true
	}
	if d.TimeS == 0 && d.DistanceM > 0 && d.DistanceM < exit.DistanceM {
		d.DistanceM = min(d.DistanceM+growDistanceM, exit.DistanceM)
		return d, fired("more_distance", num("distanceM", d.DistanceM)), true
	}
	return d, Fired{}, false
}

// nextStep moves up the ladder when the latest test opens the next step's gate.
func (e Evidence) nextStep(s Step, out *Decision) {
	next, ok := e.neighbour(s, +1)
	if !ok {
		out.Verdict = Stay
		out.Rules = append(out.Rules, fired("top_of_ladder"))
		return
	}
	held := e.weakerHold().seconds()
	open, gateS := next.IsOpen(e.Posture, held)
	numbers := []number{num("heldS", held), num("gateS", gateS)}
	if !open {
		out.Verdict = Stay
		if e.DaysSinceTest >= retestSoonest {
			out.Verdict = Retest
		}
		name := "gate_closed"
		if gateS == 0 {
			name = "gate_other_posture"
		}
		out.Rules = append(out.Rules, fired(name, numbers...))
		return
	}
	e.startStep(next, out, fired("next_step", numbers...))
}

// startStep begins another step at its starting dose, keeping the first side and, on the way
// up, the extra work of the weaker side.
func (e Evidence) startStep(s Step, out *Decision, rule Fired) {
	dose := s.Start
	dose.FirstSide = e.Item.WorksLeft.FirstSide
	if out.Verdict == Progress {
		dose.ExtraSetsWeaker = e.Item.WorksLeft.ExtraSetsWeaker
	}
	left, right, rules := dose, dose, []Fired{rule}
	if s.MaxPercent > 0 {
		loadG, loadRules, _ := startLoad(s, e.MassG, e.Implements, false)
		left.LoadG, right.LoadG = loadG, loadG
		rules = append(rules, loadRules...)
	}
	if out.Verdict == Ease {
		left.LoadG = noHeavier(left.LoadG, e.Item.WorksLeft.LoadG)
		right.LoadG = noHeavier(right.LoadG, e.Item.WorksRight.LoadG)
		if s.MaxPercent > 0 {
			rules = append(rules, fired("no_heavier"))
		}
	}
	out.move(s, left, right, rules...)
}

// noHeavier keeps an easier step from starting with more than is carried now; 0
// is a load that has not been chosen.
func noHeavier(startG, nowG int64) int64 {
	if nowG > 0 {
		return min(startG, nowG)
	}
	return startG
}

// neighbour is the next harder (+1) or easier (-1) step of the same ladder that
// fits the shoulder and is not hidden. However a practice orders its ladder, easing never
// leads to a step that we hold to be harder: its gate would not be asked for.
func (e Evidence) neighbour(s Step, way int) (Step, bool) {
	steps := e.Edition.ladder(s.Family).Steps
	at := slices.IndexFunc(steps, func(o Step) bool { return o.ID == s.ID })
	for i := at + way; i >= 0 && i < len(steps); i += way {
		if steps[i].fits(e.ShoulderSore) && (way > 0 || steps[i].Order < s.Order) {
			return steps[i], true
		}
	}
	return Step{}, false
}

// ease makes the load lighter, the dose smaller or the step easier; at the
// bottom of the ladder it keeps the item and says whom to ask.
func (e Evidence) ease(s Step, out *Decision) {
	left, right := e.Item.WorksLeft, e.Item.WorksRight
	lightL, okL := lighter(left.LoadG, e.Implements)
	lightR, okR := lighter(right.LoadG, e.Implements)
	if okL && okR {
		left.LoadG, right.LoadG = lightL, lightR
		out.move(s, left, right, fired("lighter", num("loadKG", kg(max(lightL, lightR)))))
		return
	}
	fewL, fewR := fewerReps(left.Reps, growReps), fewerReps(right.Reps, growReps)
	if len(left.Reps) > 1 && len(fewL) > 0 && len(right.Reps) > 1 && len(fewR) > 0 &&
		!isSmallest(left, s) {
		left.Reps, right.Reps = fewL, fewR
		out.move(s, left, right, fired("fewer_reps", num("sets", len(fewL))))
		return
	}
	if easier, ok := e.neighbour(s, -1); ok {
		e.startStep(easier, out, fired("previous_step"))
		return
	}
	out.Ask = askClinician
	out.Rules = append(out.Rules, fired("lowest_dose"))
}

// isSmallest reports whether the dose is small enough that an easier step is a
// better answer than still less of this one: two repetitions under the start,
// or, for carries, one set.
func isSmallest(d Dose, s Step) bool {
	return d.Reps[0] <= s.Start.Reps[0]-careFewer || len(d.Reps) <= 1
}

// fewerReps takes by repetitions off every set and drops the sets that are used
// up; where that would leave nothing it drops the last set only. One set of one
// stays as it is.
func fewerReps(reps []int, by int) []int {
	var fewer []int
	for _, n := range reps {
		if n > by {
			fewer = append(fewer, n-by)
		}
	}
	if len(fewer) == 0 {
		return append(fewer, reps[:max(len(reps)-1, min(len(reps), 1))]...)
	}
	return fewer
}
