package app

import (
	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// How many tests and sessions a person's page lists, and how many sessions a
// client's own list.
const (
	testLines      = 4
	personSessions = 8
	logSessions    = 30
)

// person is a client's page for a coach: what stands out, what is next, and
// what was done.
func (a *App) person(d *record.Doc) View {
	client, _ := sessions.ClientIn(d)
	where := say("person.where")
	if client.Complaint != "" {
		where = plain(client.Complaint)
	}
	v := View{Screen: "list", Head: a.headOf(d, where)}
	tests := sessions.Tests(d)
	reasons := a.reasons(d, tests)
	v.Finding = a.onTrack(d)
	if len(reasons) > 0 {
		v.Finding = reasons[0].line
	}
	v.Care = a.flagCare(d)
	if v.Care == nil && len(reasons) > 0 && reasons[0].care {
		v.Care = &Care{Title: reasons[0].line, Lines: []Text{say("care.pain_ask")}}
		if plan, _ := sessions.CurrentPlan(d); len(plan.Due()) < len(plan.Items) {
			v.Care.Lines = []Text{say("decide.waits_lead"), say("ask.clinician")}
		}
	}
	v.Sections = a.personSections(d, tests)
	v.Actions = a.personActions(d, tests)
	return v
}

func (a *App) personSections(d *record.Doc, tests []sessions.Test) []Section {
	var all []Section
	if also := a.alsoRecorded(d, record.ID{}); len(also) > 0 {
		all = append(all, Section{
			Title: say("conflict.section"), Note: say("conflict.note"), Rows: also,
		})
	}
	all = append(all, a.sameSections(d)...)
	if rows := a.nextRows(d); len(rows) > 0 {
		all = append(all, Section{
			Title: say("decide.title"), Note: say("decide.note"), Rows: rows,
		})
	}
	if rows := a.testRows(d, tests); len(rows) > 0 {
		all = append(all, Section{Title: say("person.tests"), Rows: rows})
	}
	if rows := trunkRows(d); len(rows) > 0 {
		all = append(all, Section{Title: say("trunk.title"), Rows: rows})
	}
	if plan, found := sessions.CurrentPlan(d); found {
		s := planSection(plan)
		for i := range s.Rows {
			s.Rows[i].Route = personRoute(d.ID()) + "/plan"
		}
		all = append(all, s)
	}
	return append(all, Section{
		Title: say("person.log"), Rows: a.sessionRows(d, personSessions, inAll),
		Empty: say("person.log_empty"),
	})
}

// planSection lists the exercises of a plan in force, one row each.
func planSection(plan sessions.Plan) Section {
	s := Section{Title: say("person.plan", "since", day(plan.AcceptedMS))}
	for _, item := range plan.Items {
		step, _ := progression.StepByID(item.Step)
		row := Row{Title: nameOf(step), Lines: itemLines(step, item)}
		if item.Waits {
			row.Reason = say("decide.waits_word")
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

// itemLines say the dose and, where it carries a weight, each side's load with
// hand and working side. Without a weight there is no dose, only what to do.
func itemLines(step progression.Step, item sessions.Item) []Text {
	lines := []Text{doseText(step, item)}
	if step.Side != progression.ByHand {
		return lines
	}
	if item.LoadG[sides.WorksLeft] <= 0 && item.LoadG[sides.WorksRight] <= 0 {
		return []Text{say("dose.no_load")}
	}
	for _, w := range bothSides {
		if item.LoadG[w] > 0 {
			p := placement(step, w)
			lines = append(lines, say("dose.load", "kg", float64(item.LoadG[w])/1000,
				"hand", p[0], "works", p[1]))
		}
	}
	return lines
}

func (a *App) testRows(d *record.Doc, tests []sessions.Test) []Row {
	var rows []Row
	for i := len(tests) - 1; i >= 0 && len(rows) < testLines; i-- {
		t := tests[i]
		step, _ := progression.StepByID(t.Step)
		row := Row{
			Title: findingOf(planning.Compare(t, a.testNoise().Model)), Bars: barsOf(t),
			Route: personRoute(d.ID()) + "/result/" + t.ID.String(),
			Lines: []Text{say("person.test_line", "step", nameOf(step), "on", day(t.StartedMS))},
		}
		for _, w := range bothSides {
			if trial, found := t.Last(w); found {
				row.Lines = append(row.Lines, trialText(trial))
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// trialText says one hold, down side and working side both.
func trialText(t sessions.Trial) Text {
	key := "trial.value"
	if t.IsBound() {
		key = "trial.at_least"
	}
	return say(key, "side", sideWord(t.Down), "works", sideWord(t.Working), "s", seconds(t.HeldMS),
		"why", say("stop."+t.Stop))
}

func (a *App) sessionRows(d *record.Doc, most int, lines func([]sessions.Set) []Text) []Row {
	var rows []Row
	all := sessions.Sessions(d)
	for i := len(all) - 1; i >= 0 && len(rows) < most; i-- {
		s := all[i]
		row := Row{Title: say("log.session", "on", day(s.StartedMS), "at", clockTime(s.StartedMS))}
		row.Lines = lines(s.Sets)
		if s.Effort >= 0 && s.Pain >= 0 {
			row.Lines = append(row.Lines, say("log.felt", "effort", s.Effort, "pain", s.Pain))
		}
		if s.PainPlace != "" {
			row.Lines = append(row.Lines, say("log.pain_place", "place", plain(s.PainPlace)))
		}
		row.Lines = append(row.Lines, a.earlier(s.Ladder)...)
		if s.FinishedMS == 0 {
			row.Reason = say("log.open")
		}
		rows = append(rows, row)
	}
	return rows
}

// eachSet says every set in a line of its own.
func eachSet(sets []sessions.Set) []Text {
	var lines []Text
	for _, set := range sets {
		lines = append(lines, setText(set))
	}
	return lines
}

// inAll says what was done of each exercise on each side with each weight in one
// line.
func inAll(sets []sessions.Set) []Text {
	type sum struct {
		sets, heldMS int64
		first        sessions.Set
	}
	var sums []*sum
	for _, set := range sets {
		var s *sum
		for _, known := range sums {
			if known.first.Step == set.Step && known.first.Working == set.Working &&
				known.first.LoadG == set.LoadG {
				s = known
			}
		}
		if s == nil {
			s = &sum{first: set}
			sums = append(sums, s)
		}
		s.sets++
		s.heldMS += set.HeldMS
	}
	var lines []Text
	for _, s := range sums {
		step, _ := progression.StepByID(s.first.Step)
		if s.first.Hand == "" {
			lines = append(lines, say("sum.hold", "step", nameOf(step), "n", s.sets,
				"side", sideWord(s.first.Down), "works", sideWord(s.first.Working),
				"s", s.heldMS/1000))
			continue
		}
		lines = append(lines, say("sum.hand", "step", nameOf(step), "n", s.sets,
			"side", sideWord(s.first.Hand), "works", sideWord(s.first.Working),
			"kg", float64(s.first.LoadG)/1000))
	}
	return lines
}

func (a *App) personActions(d *record.Doc, tests []sessions.Test) []Action {
	at := personRoute(d.ID())
	plan, hasPlan := sessions.CurrentPlan(d)
	_, isFlagged := sessions.OpenFlag(d)
	var all []Action
	add := func(label, route string) {
		kind := "plain"
		if len(all) == 0 {
			kind = "main"
		}
		all = append(all, Action{Label: say(label), Route: at + route, Kind: kind})
	}
	if len(sessions.Screenings(d)) == 0 {
		add("person.do_flags", "/flags")
	}
	if len(tests) > 0 && !hasPlan && !isFlagged {
		add("person.do_plan", "/plan")
	}
	if !isFlagged {
		add("person.do_test", "/test")
	}
	if hasPlan && !isFlagged {
		if len(plan.Due()) > 0 {
			all = append(all, Action{Label: say("person.do_work"), Do: "work.begin"})
		}
		add("person.see_plan", "/plan")
	}
	if len(tests) > 0 {
		add("capacity.where", "/capacity")
		add("load.where", "/load")
	}
	if a.me.Role != sessions.Assistant {
		add("person.do_invite", "/invite")
		add("phones.action", "/phones")
		add("share.where", "/sharing")
	}
	if len(sessions.Screenings(d)) > 0 {
		add("person.flags_again", "/flags")
	}
	add("person.do_edit", "/edit")
	if len(tests) > 0 {
		add("report.action", "/report")
		all = append(all, exportAction())
	}
	if a.me.Role != sessions.Assistant {
		all = append(all, everythingAction())
	}
	return all
}
