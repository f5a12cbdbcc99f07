package app

import (
	"slices"
	"strings"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// feeling is the form at the end of a session.
var feelFields = []string{"effort", "pain", "painPlace"}

func isHold(stepID string) bool {
	step, _ := progression.StepByID(stepID)
	return step.Side == progression.ByDown
}

func (a *App) workOf() (*record.Doc, sessions.WorkRun, error) {
	d, err := a.subject()
	if err != nil {
		return nil, sessions.WorkRun{}, err
	}
	run, found := a.works[d.ID().String()]
	if !found {
		return nil, run, refuse("phase", "", say("error.phase"))
	}
	return d, run, nil
}

func (a *App) keepWork(run sessions.WorkRun) {
	a.works[run.Doc] = run
	a.put("run", "work:"+run.Doc, run)
}

// beginWork opens a session of the plan that is on this phone now.
func (a *App) beginWork(answer *Answer) error {
	d, err := a.subject()
	if err != nil {
		return err
	}
	id := d.ID()
	if _, found := a.works[id.String()]; !found {
		plan, hasPlan := sessions.CurrentPlan(d)
		if !hasPlan {
			return refuse("no_plan", "", say("error.no_plan"))
		}
		if _, open := sessions.OpenFlag(d); open {
			return refuse("withheld", "", say("refuse.red_flag_open"))
		}
		due := plan.Due()
		if len(due) == 0 {
			return refuse("withheld", "", say("refuse.all_wait"))
		}
		turns := sessions.Turns(due, isHold)
		if len(turns) == 0 {
			return refuse("withheld", "", say("dose.no_load"))
		}
		session := sessions.Session{
			StartedMS: a.now.At.WallMS, TZMin: a.now.TZMin, Plan: plan.ID.String(),
			Ladder: sessions.LaddersOf(due),
		}
		sessionID, err := a.create(d, sessions.KindSession, session.Values())
		if err != nil {
			return err
		}
		a.keepWork(sessions.WorkRun{
			Doc: id.String(), Session: sessionID.String(), Plan: plan.ID.String(),
			Turns: turns, Phase: sessions.WorkBefore,
		})
		answer.Sync = true
	}
	a.route = a.workRoute(d)
	return nil
}

func (a *App) workRoute(d *record.Doc) string {
	if a.me.isClient() {
		return "/work"
	}
	return personRoute(d.ID()) + "/work"
}

// startTurn starts the set that is due. A tap by which a rest is cut short is
// the same command.
func (a *App) startTurn(*Answer) error {
	_, run, err := a.workOf()
	if err != nil {
		return err
	}
	if run, err = run.Begin(a.now.At); err != nil {
		return err
	}
	a.said = nil
	a.keepWork(run)
	return nil
}

// endTurn closes a set done as planned: a carry that was set down, or a series
// that has run to its end.
func (a *App) endTurn(answer *Answer) error { return a.closeTurn(answer, "") }

// stopTurn closes a set that ended early, with the reason.
func (a *App) stopTurn(answer *Answer) error {
	var args struct {
		Stop string `json:"stop"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	if args.Stop == "" {
		args.Stop = sessions.StopGaveUp
	}
	return a.closeTurn(answer, args.Stop)
}

func (a *App) closeTurn(answer *Answer, stop string) error {
	d, run, err := a.workOf()
	if err != nil {
		return err
	}
	at, clock := a.now.At, ""
	turn, ok := run.Turn()
	if ok && stop == "" && turn.IsHold && run.Phase == sessions.WorkSeries {
		ms, told, err := sessions.Elapsed(run.Start, at)
		if err == nil && ms < turn.LengthMS()-endSlackMS {
			return refuse("phase", "", say("error.phase"))
		}
		// Done as planned, whatever the clocks say by now.
		at, clock = run.Start.At(turn.LengthMS()), told
		if err != nil {
			clock = sessions.ClockWall
		}
	}
	next, set, err := run.End(at, stop)
	if err != nil {
		return err
	}
	if clock != "" {
		set.Clock, next.RestFrom = clock, a.now.At
	}
	answer.Sync = true
	return a.logSet(d, next, set)
}

// endSlackMS is how early the page's own timer may say that a series is over.
const endSlackMS = 60

// logSet writes a set once, with all its facts.
func (a *App) logSet(d *record.Doc, next sessions.WorkRun, set sessions.Set) error {
	id, err := a.create(d, sessions.KindSet, set.Values())
	if err != nil {
		return err
	}
	next.Logged = append(slices.Clone(next.Logged), id.String())
	a.keepWork(next)
	a.said = &Said{
		Text: setText(set),
		Undo: &Action{
			Label: say("action.undo"), Do: "void",
			Args: map[string]any{"record": id.String(), "undo": true},
		},
	}
	return nil
}

// enterTurn logs the set that is due with the values shown, untimed.
func (a *App) enterTurn(answer *Answer) error {
	d, run, err := a.workOf()
	if err != nil {
		return err
	}
	next, set, err := run.Enter(a.now.At)
	if err != nil {
		return err
	}
	answer.Sync = true
	return a.logSet(d, next, set)
}

// adjustTurn changes the load, distance or time that is about to be logged.
func (a *App) adjustTurn(*Answer) error {
	_, run, err := a.workOf()
	if err != nil {
		return err
	}
	turn, ok := run.Turn()
	c, err := a.readChange()
	if err != nil || !ok {
		return errRole
	}
	item, err := c.apply(sessions.Item{
		LoadG:      map[sides.Working]int64{turn.Working: turn.LoadG},
		DistanceMM: turn.DistanceMM, TimeMS: turn.TimeMS, Reps: []int64{turn.Reps},
	})
	if why := say("dose.no_load"); err != nil || item.LoadG[turn.Working] <= 0 {
		if err != nil {
			why = boundText(err)
		}
		return a.keepForm(nil, []string{c.id()}, map[string]Text{c.id(): why})
	}
	delete(a.forms, a.route)
	a.keepWork(run.Adjust(item.Reps[0], item.LoadG[turn.Working], item.DistanceMM, item.TimeMS))
	return nil
}

func (a *App) skipTurn(*Answer) error {
	_, run, err := a.workOf()
	if err != nil {
		return err
	}
	if run, err = run.Skip(); err != nil {
		return err
	}
	a.keepWork(run)
	return nil
}

// goFeel ends the sets early and asks how it was.
func (a *App) goFeel(*Answer) error {
	_, run, err := a.workOf()
	if err != nil {
		return err
	}
	if run, err = run.Finish(); err != nil {
		return err
	}
	a.keepWork(run)
	return nil
}

// finishWork closes the session with effort and pain.
func (a *App) finishWork(answer *Answer) error {
	values, err := a.values()
	if err != nil {
		return err
	}
	d, run, err := a.workOf()
	if err != nil {
		return err
	}
	errs := map[string]Text{}
	effort := scale(values, "effort", progression.Effort, errs)
	pain := scale(values, "pain", progression.Pain, errs)
	place := line(values, "painPlace", errs)
	if len(errs) > 0 {
		return a.keepForm(values, feelFields, errs)
	}
	id, err := record.ParseID(run.Session)
	if err != nil {
		return err
	}
	fields := []record.FieldValue{
		{Field: "effort", Value: record.Int(effort)}, {Field: "pain", Value: record.Int(pain)},
		{Field: "finishedMS", Value: record.Int(a.now.At.WallMS)},
	}
	if place != "" {
		fields = append(fields, record.FieldValue{Field: "painPlace", Value: record.Text(place)})
	}
	for _, f := range fields {
		if err := a.write(d, id, f.Field, f.Value); err != nil {
			return err
		}
	}
	a.endWork(d, run)
	a.said = &Said{Text: say("said.session")}
	answer.Sync = true
	return nil
}

// endWork forgets a session that is closed and goes back to where it was begun from.
func (a *App) endWork(d *record.Doc, run sessions.WorkRun) {
	delete(a.works, run.Doc)
	a.drop("run", "work:"+run.Doc)
	delete(a.forms, a.route)
	a.route = "/"
	if !a.me.isClient() {
		a.route = personRoute(d.ID())
	}
}

// scale reads an answer from 0 to 10, which must be given.
func scale(
	values map[string]string, id string, q progression.Quantity, errs map[string]Text,
) int64 {
	if strings.TrimSpace(values[id]) == "" {
		errs[id] = say("error.scale")
		return 0
	}
	return number(values, id, q, errs)
}

func (a *App) runningWork(d *record.Doc, run sessions.WorkRun) *Action {
	client, _ := sessions.ClientIn(d)
	label := say("running.work", "name", client.Name)
	if run.Phase == sessions.WorkSeries || run.Phase == sessions.WorkCarry {
		label = say("running.set", "name", client.Name, "at", clockTime(run.Start.WallMS))
	}
	return &Action{Label: label, Route: a.workRoute(d)}
}

// setText says one set in one line, hand or down side and working side both.
func setText(s sessions.Set) Text {
	step, _ := progression.StepByID(s.Step)
	args := []any{
		"step", nameOf(step), "side", sideWord(s.Down), "works", sideWord(s.Working),
		"reps", s.Reps, "held", s.HeldMS / 1000, "kg", float64(s.LoadG) / 1000,
		"metres", s.DistanceMM / 1000, "seconds", s.TimeMS / 1000,
	}
	switch {
	case s.Hand == "":
		return say("set.hold", args...)
	case step.Kind == progression.ByLift:
		args[3] = sideWord(s.Hand)
		return say("set.lift", args...)
	case s.DistanceMM > 0:
		args[3] = sideWord(s.Hand)
		return say("set.carry_distance", args...)
	}
	args[3] = sideWord(s.Hand)
	return say("set.carry", args...)
}
