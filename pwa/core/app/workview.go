package app

import (
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// workScreen shows what to do now in a led session.
func (a *App) workScreen(d *record.Doc) View {
	run, found := a.works[d.ID().String()]
	if !found {
		if a.me.isClient() {
			return a.today(d)
		}
		return a.person(d)
	}
	if run.Phase == sessions.WorkBefore {
		return a.beforeForm(d, run)
	}
	turn, more := run.Turn()
	if run.Phase == sessions.WorkFeel || !more {
		return a.feelForm(d, run)
	}
	step, _ := progression.StepByID(turn.Step)
	if turn.Cues != "" {
		step = step.WithCues(turn.Cues)
	}
	v := View{
		Screen: "work", Head: a.head(""), Phase: run.Phase,
		Finding: nameOf(step), Side: string(turn.Working),
		Notes: placement(step, turn.Working),
		Count: say("work.count", "n", turn.Number, "of", turn.Of),
	}
	v.Head.Title = nameOf(step)
	v.Head.Where = say("work.where", "n", run.At+1, "all", len(run.Turns))
	switch run.Phase {
	case sessions.WorkSeries:
		a.series(&v, run, turn, step)
	case sessions.WorkCarry:
		v.Busy, v.Since, v.Cues = true, &run.Start, carryCues(turn, step)
		v.Lines = cautions(step)
		v.Actions = []Action{{Label: say("work.set_down"), Do: "work.end", Kind: "main"}}
		v.Actions = append(v.Actions, stopActions()...)
	case sessions.WorkRest:
		v.Busy = true
		v.Since = &run.RestFrom
		v.Intervals = []Interval{{Kind: "rest", FromMS: 0, ToMS: run.RestMS, Label: say("work.rest")}}
		v.Cues = restCues(run.RestMS, step, turn)
		v.Lines = []Text{say("work.next", "step", nameOf(step), "place", v.Notes[0], "works", v.Notes[1])}
		a.ready(&v, run, turn, step)
	default:
		a.ready(&v, run, turn, step)
	}
	v.Figure = a.figure(d, turn.Step, turn.Working, turn.LoadG)
	return v
}

// ready offers the set that is due.
func (a *App) ready(v *View, run sessions.WorkRun, turn sessions.Turn, step progression.Step) {
	if v.Phase == sessions.WorkReady {
		v.Lines = cautions(step)
		if step.Setup != "" {
			v.Lines = append([]Text{say(step.Setup)}, v.Lines...)
		}
	}
	if turn.IsHold {
		v.Lines = append(v.Lines, say("work.dose_hold", "reps", turn.Reps, "hold", turn.HoldMS/1000))
		v.Actions = []Action{{Label: say("work.start_hold"), Do: "work.start", Kind: "main"}}
	} else {
		v.Steppers = a.turnSteppers(turn, step)
		v.Actions = []Action{{Label: say("work.start_carry"), Do: "work.start", Kind: "main"},
			{Label: say("work.enter"), Do: "work.enter"}}
	}
	v.Actions = append(v.Actions,
		Action{Label: say("work.skip"), Do: "work.skip", Kind: "quiet"},
		Action{Label: say("work.end_early"), Do: "work.feel", Kind: "quiet"})
}

// series leads through a set of holds, or asks about one that ended while the
// phone was away.
func (a *App) series(v *View, run sessions.WorkRun, turn sessions.Turn, step progression.Step) {
	ms, _, err := sessions.Elapsed(run.Start, a.now.At)
	if err != nil || ms > turn.LengthMS()+5000 {
		v.Phase = "unsure"
		v.Finding = say("work.unsure", "at", clockTime(run.Start.WallMS+turn.LengthMS()))
		v.Lines = []Text{say("work.unsure_lead")}
		v.Actions = []Action{
			{Label: say("work.unsure_yes"), Do: "work.end", Kind: "main"},
			{Label: say("work.unsure_no"), Do: "work.skip"},
		}
		return
	}
	v.Busy, v.Since = true, &run.Start
	for _, s := range turn.Spans() {
		v.Intervals = append(v.Intervals, Interval{
			Kind: s.Kind, FromMS: s.FromMS, ToMS: s.EndMS, Label: say("work.span_" + s.Kind),
			Count: say("work.rep", "n", s.Rep, "of", turn.Reps),
		})
	}
	v.Cues = seriesCues(turn, step, max(ms, 0))
	v.AtEnd = &Action{Label: say("work.ended"), Do: "work.end"}
	v.Actions = stopActions()
}

func stopActions() []Action {
	return []Action{
		{Label: say("work.stop"), Do: "work.stop", Args: map[string]any{"stop": sessions.StopGaveUp}},
		{
			Label: say("work.stop_pain"), Do: "work.stop",
			Args: map[string]any{"stop": sessions.StopPain}, Kind: "care",
		},
	}
}

func cautions(step progression.Step) []Text {
	var lines []Text
	for _, key := range step.Cautions {
		lines = append(lines, say(key))
	}
	return lines
}

// turnSteppers are the numbers of a carry or lift before it is logged: two taps a set.
func (a *App) turnSteppers(turn sessions.Turn, step progression.Step) []Stepper {
	item := sessions.Item{
		LoadG:      map[sides.Working]int64{turn.Working: turn.LoadG},
		DistanceMM: turn.DistanceMM, TimeMS: turn.TimeMS,
	}
	if item.DistanceMM > 0 {
		item.TimeMS = 0
	}
	l := stepperList{app: a, do: "work.set"}
	if step.Kind == progression.ByLift {
		l.add("reps", say("plan.reps"), turn.Reps, 1, 1, say("unit.reps"))
	}
	l.addLoads(step, item, turn.Working)
	return l.all
}

// feelForm asks effort and pain, then the session is done.
func (a *App) feelForm(d *record.Doc, run sessions.WorkRun) View {
	v := View{
		Screen: "form", Head: a.head(""), Finding: say("feel.finding"),
		Fields: a.forms[a.route].show([]Field{
			{
				ID: "effort", Kind: "scale", Label: say("feel.effort"),
				Hint: say("feel.effort_hint"),
				Ends: []Text{say("feel.effort_low"), say("feel.effort_high")},
			},
			{
				ID: "pain", Kind: "scale", Label: say("feel.pain"), Hint: say("feel.pain_hint"),
				Ends: []Text{say("feel.pain_low"), say("feel.pain_high")},
			},
			{ID: "painPlace", Kind: "text", Label: say("feel.place"), Optional: true},
		}),
		Lines:   []Text{say("feel.lead", "n", len(run.Logged))},
		Actions: []Action{{Label: say("feel.done"), Do: "work.finish", Kind: "main", Form: true}},
	}
	client, _ := sessions.ClientIn(d)
	v.Head.Name = client.Name
	return v
}
