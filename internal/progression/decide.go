package progression

// Verdict is what to do with one item of a plan.
type Verdict string

// The verdicts. When several rules fire the most careful wins: Refer, then
// Ease, Retest, Stay, Progress.
const (
	Progress Verdict = "progress"
	Stay     Verdict = "stay"
	Ease     Verdict = "ease"
	Retest   Verdict = "retest"
	Refer    Verdict = "refer"
)

var carefulness = map[Verdict]int{Progress: 0, Stay: 1, Retest: 2, Ease: 3, Refer: 4}

// IsMoreCareful reports whether v wins over other where both are asked for.
func (v Verdict) IsMoreCareful(other Verdict) bool {
	return carefulness[v] > carefulness[other]
}

// Decision is a suggestion for one item. Next is the item to do from now on: the
// present one for Stay and Retest, and nil for Refer, where nothing is
// prescribed and Ask says whom to ask. Rules are all that fired, the red flag
// and the pain rules first.
type Decision struct {
	Verdict Verdict
	Next    *Item
	Rules   []Fired
	Ask     string
}

// AsksClinician reports whether the exercise is to wait for a clinician's look.
func (d Decision) AsksClinician() bool { return d.Ask == askClinician }

// Decide suggests what to do next with one item, after a session or a test. A
// step that is not on the ladders stays as it is, and so does everything when a
// value is not plausible: the rule says which.
func Decide(e Evidence) Decision {
	if e.RedFlagOpen {
		return Decision{Verdict: Refer, Rules: []Fired{fired("red_flag_open")}, Ask: askClinician}
	}
	present := e.Item
	if bad := e.check(); bad != nil {
		return Decision{Stay, &present, []Fired{refused(bad)}, askEntry}
	}
	step, ok := e.Edition.Step(e.Item.StepID)
	if !ok || len(e.Item.WorksLeft.Reps) == 0 || len(e.Item.WorksRight.Reps) == 0 {
		return Decision{Stay, &present, []Fired{fired("step_unknown")}, askEntry}
	}
	votes := e.painVotes()
	votes = append(votes, e.workVotes(step.Exit)...)
	votes = append(votes, e.testVotes()...)
	if clean := e.clean(step.Exit); len(e.Sessions) > 0 {
		verdict := Stay
		if clean >= step.Exit.Sessions {
			verdict = Progress
		}
		votes = append(votes, vote{verdict, fired("clean_sessions",
			num("sessions", clean), num("needed", step.Exit.Sessions))})
	}
	out := Decision{Verdict: Progress, Next: &present}
	for _, v := range votes {
		out.Rules = append(out.Rules, v.rule)
		if carefulness[v.verdict] > carefulness[out.Verdict] {
			out.Verdict = v.verdict
		}
	}
	switch out.Verdict {
	case Refer:
		out.Next, out.Ask = nil, askClinician
	case Ease:
		e.ease(step, &out)
	case Progress:
		e.progress(step, &out)
	}
	return out
}

// move is a dose for each working side, and the rule that led to it.
func (out *Decision) move(s Step, left, right Dose, rules ...Fired) {
	left.Reps = append([]int(nil), left.Reps...)
	right.Reps = append([]int(nil), right.Reps...)
	out.Next = &Item{StepID: s.ID, StepVersion: s.Version, WorksLeft: left, WorksRight: right,
		Rules: rules}
	out.Rules = append(out.Rules, rules...)
}
