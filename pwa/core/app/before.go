package app

import (
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// beforeFields are asked as a session begins: the pain rules need them.
var beforeFields = []string{sessions.FieldPainBefore, sessions.FieldPainMorning}

// sayBefore keeps the pain before a session, and on the morning after the one before
// it. Above the bound at which one stops, the session waits for a word on what to do.
func (a *App) sayBefore(answer *Answer) error {
	values, err := a.values()
	if err != nil {
		return err
	}
	d, run, err := a.workOf()
	if err != nil {
		return err
	}
	asked := a.askedBefore(d, run)
	if len(asked) == 0 && a.me.isClient() {
		return errRole // to begin all the same is for a coach who is there
	}
	errs := map[string]Text{}
	id, err := record.ParseID(run.Session)
	if err != nil {
		return err
	}
	said := map[string]int64{}
	for _, field := range asked {
		said[field] = scale(values, field, progression.Pain, errs)
	}
	if len(errs) > 0 {
		return a.keepForm(values, beforeFields, errs)
	}
	next, err := run.Asked()
	if err != nil {
		return err
	}
	for _, field := range asked {
		if err := a.write(d, id, field, record.Int(said[field])); err != nil {
			return err
		}
	}
	delete(a.forms, a.route)
	answer.Sync = true
	if said[sessions.FieldPainBefore] > painCare && len(asked) > 0 {
		return nil // the screen says to leave it, and whom to ask
	}
	a.keepWork(next)
	return nil
}

// askedBefore lists what is still to be said: the morning only after an earlier day's
// session, nothing twice.
func (a *App) askedBefore(d *record.Doc, run sessions.WorkRun) []string {
	asked := []string{}
	all := sessions.Sessions(d)
	for i, s := range all {
		if s.ID.String() != run.Session {
			continue
		}
		if s.PainBefore < 0 {
			asked = append(asked, sessions.FieldPainBefore)
		}
		wasEarlier := i > 0 && a.dayNumber(all[i-1].StartedMS) < a.dayNumber(s.StartedMS)
		if wasEarlier && s.PainMorning < 0 {
			asked = append(asked, sessions.FieldPainMorning)
		}
	}
	return asked
}

// leaveWork closes a session that was not begun because it hurt before, and takes one
// back of which nothing was said.
func (a *App) leaveWork(answer *Answer) error {
	d, run, err := a.workOf()
	if err != nil {
		return err
	}
	if run.Phase != sessions.WorkBefore {
		return sessions.ErrPhase
	}
	id, err := record.ParseID(run.Session)
	if err != nil {
		return err
	}
	field, value := "finishedMS", record.Int(a.now.At.WallMS)
	said := say("said.left")
	if len(a.askedBefore(d, run)) > 0 {
		field, value = record.VoidedField, record.Text("not begun")
		said = say("said.not_begun")
	}
	if err := a.write(d, id, field, value); err != nil {
		return err
	}
	a.endWork(d, run)
	a.said = &Said{Text: said}
	answer.Sync = true
	return nil
}

// beforeForm asks how it hurts before the first set, or says to leave it.
func (a *App) beforeForm(d *record.Doc, run sessions.WorkRun) View {
	v := View{Screen: "form", Head: a.head(""), Fields: []Field{}}
	client, _ := sessions.ClientIn(d)
	v.Head.Name = client.Name
	asked := a.askedBefore(d, run)
	if len(asked) == 0 {
		v.Finding = say("before.stop")
		v.Care = &Care{Title: say("before.stop_why", "max", painCare),
			Lines: []Text{say("before.stop_lead")}}
		v.Actions = []Action{{Label: say("before.leave"), Do: "work.leave", Kind: "main"}}
		if !a.me.isClient() {
			v.Actions = append(v.Actions,
				Action{Label: say("before.anyway"), Do: "work.before", Kind: "quiet"})
		}
		return v
	}
	v.Finding = say("before.finding")
	for _, field := range asked {
		f := Field{
			ID: field, Kind: "scale", Label: say("before.now"),
			Ends: []Text{say("feel.pain_low"), say("feel.pain_high")},
		}
		if field == sessions.FieldPainMorning {
			f.Label, f.Hint = say("before.morning"), say("before.morning_hint")
		}
		v.Fields = append(v.Fields, f)
	}
	v.Fields = a.forms[a.route].show(v.Fields)
	v.Actions = []Action{
		{Label: say("before.go"), Do: "work.before", Kind: "main", Form: true},
		{Label: say("before.not_now"), Do: "work.leave", Kind: "quiet"},
	}
	return v
}
