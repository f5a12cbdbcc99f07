package app

import (
	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/working"
	"evenhold/sync/record"
)

// verdicts are the answers a coach can choose from, in the order they are offered.
var verdicts = []progression.Verdict{
	progression.Progress, progression.Stay, progression.Ease, progression.Retest,
	progression.Refer,
}

// next lists what to do from now on with each exercise of the plan in force.
func (a *App) next(d *record.Doc) []planning.Next {
	return planning.Decide(d, a.practice(), a.now.At.WallMS)
}

// latestOn is the latest decision on an exercise.
func latestOn(d *record.Doc, item string) (made sessions.Decision, found bool) {
	for _, one := range sessions.Decisions(d) {
		if one.About == item {
			made, found = one, true
		}
	}
	return made, found
}

// decidedOn is the latest decision on an exercise that is not older than what the
// present suggestion rests on.
func decidedOn(d *record.Doc, n planning.Next) (sessions.Decision, bool) {
	made, found := latestOn(d, n.Item.ID.String())
	return made, found && made.AtMS >= n.SinceMS
}

// nextRows are the exercises with what is suggested for each.
func (a *App) nextRows(d *record.Doc) []Row {
	var rows []Row
	for _, n := range a.next(d) {
		step, _ := progression.StepByID(n.Item.Step)
		row := Row{
			Title: nameOf(step), Route: personRoute(d.ID()) + "/next/" + n.Item.ID.String(),
			Reason: say("decide.word_" + string(n.Decision.Verdict)),
			Lines:  []Text{ruleText(leadingRule(n.Decision))},
			Care:   n.Decision.Verdict == progression.Refer,
		}
		if made, done := decidedOn(d, n); done {
			row.Reason, row.Care = say("decide.state_"+made.State), false
			row.Lines = []Text{decisionText(made)}
		}
		if n.Item.Waits {
			row.Reason, row.Care = say("decide.waits_word"), true
			row.Lines = []Text{say("decide.waits")}
		}
		rows = append(rows, row)
	}
	return rows
}

// leadingRule is the one to show where there is room for one: the last of the rules
// that says what changes, or else the first that fired.
func leadingRule(d progression.Decision) progression.Fired {
	if d.Verdict == progression.Progress || d.Verdict == progression.Ease {
		return d.Rules[len(d.Rules)-1]
	}
	return d.Rules[0]
}

func decisionText(made sessions.Decision) Text {
	args := []any{"on", day(made.AtMS), "chosen", say("decide.word_" + made.Chosen)}
	if made.Reason == "" {
		return say("decide.made", args...)
	}
	return say("decide.made_because", append(args, "why", plain(made.Reason))...)
}

// decideScreen shows one exercise's suggestion with every rule behind it, to accept,
// change or decline.
func (a *App) decideScreen(d *record.Doc, item string) View {
	n, found := a.nextOf(d, item)
	if !found {
		return a.person(d)
	}
	step, _ := progression.StepByID(n.Item.Step)
	v := View{
		Screen: "form", Head: a.headOf(d, nameOf(step)), Care: a.flagCare(d),
		Finding: say("decide.suggest_" + string(n.Decision.Verdict)),
	}
	v.Head.Back = personRoute(d.ID())
	if v.Care == nil && n.Decision.Ask != "" {
		v.Care = whomToAsk(n.Decision.Ask)
	}
	v.Sections = []Section{{Title: say("decide.dose"), Rows: a.doseRows(n)}, {
		Title: say("decide.why"), Note: say("decide.why_note"), Rows: ruleRows(n.Decision.Rules),
	}}
	if rows := a.historyRows(d, item); len(rows) > 0 {
		v.Sections = append(v.Sections, Section{Title: say("decide.before"), Rows: rows})
	}
	_, flagged := sessions.OpenFlag(d)
	mayDecide := sessions.MayWrite(a.me.Role, sessions.KindDecision, "", true)
	switch {
	case flagged:
		v.Finding = say("plan.withheld")
	case n.Item.Waits:
		v.Finding = say("decide.waits")
		v.Care = whomToAsk("ask.clinician")
		if mayDecide {
			a.lookForm(&v, d, item)
		}
	case mayDecide:
		a.decideForm(&v, n)
	}
	return v
}

// lookForm asks what a clinician found of an exercise that waits.
func (a *App) lookForm(v *View, d *record.Doc, item string) {
	fields := lookFields()
	if plan, _ := sessions.CurrentPlan(d); len(plan.Items)-len(plan.Due()) > 1 {
		fields = append(fields, Field{
			ID: "which", Kind: "choice", Label: say("clear.which"), Value: "one", Options: []Option{
				{Value: "one", Label: say("clear.which_one")},
				{Value: "all", Label: say("clear.which_all")},
			},
		})
	}
	v.Fields = a.forms[a.route].show(fields)
	v.Actions = []Action{{
		Label: say("clear.save_one"), Do: "decide.clear", Kind: "main", Form: true,
		Args: map[string]any{"item": item},
	}}
}

func whomToAsk(key string) *Care {
	return &Care{Title: say("decide.ask"), Lines: []Text{say(key)}}
}

func (a *App) decideForm(v *View, n planning.Next) {
	var options []Option
	for _, o := range verdicts {
		options = append(options, Option{Value: string(o), Label: say("decide.word_" + string(o))})
	}
	v.Fields = a.forms[a.route].show([]Field{
		{
			ID: "chosen", Kind: "choice", Label: say("decide.chosen"), Options: options,
			Value: string(n.Decision.Verdict), Hint: say("decide.chosen_hint"),
		},
		{
			ID: "reason", Kind: "text", Label: say("decide.reason"), Optional: true,
			Hint: say("decide.reason_hint"),
		},
	})
	args := map[string]any{"item": n.Item.ID.String()}
	v.Actions = []Action{
		{Label: say("decide.keep"), Do: "decide.keep", Args: args, Kind: "main", Form: true},
		{Label: say("decide.decline"), Do: "decide.decline", Args: args, Form: true},
	}
}

// doseRows are the present dose, and the one that is suggested where it differs.
func (a *App) doseRows(n planning.Next) []Row {
	step, _ := progression.StepByID(n.Item.Step)
	rows := []Row{{Title: say("decide.now"), Lines: itemLines(step, n.Item)}}
	next := n.Decision.Next
	if n.Item.Waits || n.Decision.AsksClinician() {
		return append(rows, Row{Title: say("decide.then"), Lines: []Text{say("decide.waits_lead")}})
	}
	if next == nil || n.Decision.Verdict == progression.Stay ||
		n.Decision.Verdict == progression.Retest {
		return rows
	}
	to, _ := progression.StepByID(next.StepID)
	lines := itemLines(to, a.practice().Item(*next, 0))
	return append(rows, Row{
		Title: say("decide.then"), Lines: append([]Text{nameOf(to)}, lines...),
	})
}

// ruleRows are the rules that fired, each opening to where it is from.
func ruleRows(rules []progression.Fired) []Row {
	var rows []Row
	for _, r := range rules {
		rows = append(rows, Row{
			Lines: []Text{ruleText(r)}, Working: &WorkingView{
				Title: say("decide.rule_from"), Inputs: []WorkingInput{}, Steps: []WorkingStep{},
				Sources: sourceViews([]working.Source{r.Source}), Cautions: []Text{},
			},
		})
	}
	return rows
}

// historyRows are the decisions on an exercise, newest first; the newest can be taken back.
func (a *App) historyRows(d *record.Doc, item string) []Row {
	var rows []Row
	all := sessions.Decisions(d)
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].About != item {
			continue
		}
		row := Row{
			Lines: []Text{decisionText(all[i])}, Reason: say("decide.state_" + all[i].State),
		}
		row.Lines = append(row.Lines, a.earlier(all[i].Ladder)...)
		for _, r := range sessions.Referrals(d) {
			if r.ID == all[i].ID && !r.IsOpen() {
				row.Lines = append(row.Lines, say("decide.looked", "on", day(r.ClearedMS),
					"by", plain(r.By), "note", plain(r.Note)))
			}
		}
		if len(rows) == 0 && sessions.MayWrite(a.me.Role, sessions.KindDecision, "", true) {
			row.Actions = []Action{*takeBack(all[i].ID)}
		}
		rows = append(rows, row)
	}
	return rows
}

// nextOf is what to do next with one exercise. The dose of another step is fitted to what the
// person can bear, as that of a first plan is.
func (a *App) nextOf(d *record.Doc, item string) (planning.Next, bool) {
	all := a.next(d)
	for at, n := range all {
		if n.Item.ID.String() != item {
			continue
		}
		s, _ := planning.First(d, a.practice())
		if known, err := a.capacities(d); err == nil && s.Refusal == "" {
			var items []sessions.Item
			for _, one := range all {
				items = append(items, one.Item)
			}
			n = known.FitNext(a.practice(), led(items), at, n, planning.BandFor(s))
		}
		return n, true
	}
	return planning.Next{}, false
}
