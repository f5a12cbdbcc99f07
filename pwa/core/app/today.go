package app

import (
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// today is a client's home: what to do now.
func (a *App) today(d *record.Doc) View {
	v := View{Screen: "list", Head: a.head("")}
	v.Head.Name = a.me.Name
	v.Head.Where = plain(a.me.PracticeName)
	plan, hasPlan := sessions.CurrentPlan(d)
	if care := a.flagCare(d); care != nil {
		v.Finding = say("today.paused")
		v.Care = care
		v.Sections = []Section{}
		return v
	}
	if !hasPlan {
		v.Finding = say("today.no_plan")
		v.Sections = []Section{{Empty: say("today.no_plan_lead")}}
		return v
	}
	last, didToday := a.lastSession(d)
	didToday = didToday && len(last.Sets) > 0
	v.Finding = say("today.finding")
	if didToday {
		v.Finding = say("today.done", "n", len(last.Sets))
	}
	if len(plan.Due()) == 0 {
		v.Finding = say("today.paused")
	}
	v.Sections = []Section{a.todaysWork(d, plan)}
	if v.Care == nil {
		if r, found := painReason(d); found {
			v.Care = &Care{Title: r.line, Lines: []Text{say("care.client_pain")}}
		}
	}
	label := say("today.start")
	if _, underWay := a.works[d.ID().String()]; underWay {
		label = say("today.go_on")
	} else if didToday {
		label = say("today.again")
	}
	start := Action{Label: label, Do: "work.begin", Kind: "main"}
	if v.Care != nil && painIsHigh(d) {
		start.Kind = "plain" // first of all somebody should be asked
	}
	if len(sessions.Turns(plan.Due(), isHold)) > 0 {
		v.Actions = []Action{start}
	}
	v.Actions = append(v.Actions,
		Action{Label: say("today.log"), Route: "/log"},
		Action{Label: say("look.action"), Route: "/look", Kind: "quiet"},
		a.lockAction())
	v.Actions = append(v.Actions, a.passkeyActions()...)
	return v
}

// todaysWork lists the exercises, those that wait for a clinician too, and says when a new
// test was decided on.
func (a *App) todaysWork(d *record.Doc, plan sessions.Plan) Section {
	work := Section{Note: say("today.stop_rule")}
	if _, isAsked := sessions.AskedTest(d, sessions.Tests(d)); isAsked {
		work.Rows = append(work.Rows, Row{
			Title: say("today.test_due"), Lines: []Text{say("today.test_due_lead")},
		})
	}
	for _, item := range plan.Items {
		step, _ := progression.StepByID(item.Step)
		row := Row{Title: nameOf(step), Lines: itemLines(step, item)}
		if item.Waits {
			row.Lines, row.Care = []Text{say("today.waits")}, true
			work.Rows = append(work.Rows, row)
			continue
		}
		if step.Side == progression.ByHand {
			row.Actions = []Action{{Label: say("today.weights"), Route: "/plan"}}
		}
		if also := a.alsoRecorded(d, item.ID); len(also) > 0 {
			row.Lines = append(row.Lines, say("today.also"))
		}
		work.Rows = append(work.Rows, row)
	}
	return work
}

// clientPlan lets a client say which weights are at home.
func (a *App) clientPlan(d *record.Doc) View {
	v := View{
		Screen: "plan", Head: a.head("/"), Finding: say("today.weights"),
		Lines: []Text{say("today.weights_lead")},
	}
	v.Head.Name = a.me.Name
	if plan, found := sessions.CurrentPlan(d); found {
		a.planItems(&v, d, plan.Items, "item.set")
	}
	return v
}

// lastSession returns the latest session, and whether it was today.
func (a *App) lastSession(d *record.Doc) (sessions.Session, bool) {
	all := sessions.Sessions(d)
	if len(all) == 0 {
		return sessions.Session{}, false
	}
	last := all[len(all)-1]
	isToday := a.dayNumber(last.StartedMS) == a.dayNumber(a.now.At.WallMS)
	return last, isToday && last.FinishedMS != 0
}

// clientLog lists what a client has done.
func (a *App) clientLog(d *record.Doc) View {
	v := View{
		Screen: "list", Head: a.head("/"), Finding: say("today.log"),
		Sections: []Section{{
			Rows: a.sessionRows(d, logSessions, eachSet), Empty: say("person.log_empty"),
		}},
	}
	if len(v.Sections[0].Rows) > 0 {
		v.Actions = []Action{exportAction()}
	}
	v.Actions = append(v.Actions, everythingAction())
	v.Head.Name = a.me.Name
	return v
}

// waiting is a client's phone that has joined but not fetched its record yet.
func (a *App) waiting() View {
	return View{
		Screen: "notice", Head: a.head(""), Finding: say("waiting.finding"),
		Lines:   []Text{say("waiting.lead")},
		Actions: []Action{{Label: say("sync.now"), Do: "sync.state", Kind: "main"}},
	}
}
