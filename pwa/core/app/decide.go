package app

import (
	"sort"
	"strconv"
	"strings"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// keepDecision writes what the coach chose; the suggestion itself takes effect on the
// plan, another choice leaves the plan to the coach's hand.
func (a *App) keepDecision(answer *Answer) error { return a.makeDecision(answer, false) }

// declineDecision keeps why the suggestion was not taken; the plan stays.
func (a *App) declineDecision(answer *Answer) error { return a.makeDecision(answer, true) }

func (a *App) makeDecision(answer *Answer, declines bool) error {
	d, n, err := a.decidedItem()
	if err != nil {
		return err
	}
	values, err := a.values()
	if err != nil {
		return err
	}
	if _, flagged := sessions.OpenFlag(d); flagged {
		return refuse("withheld", "", say("refuse.red_flag_open"))
	}
	if n.Item.Waits {
		return refuse("phase", "", say("error.phase")) // a second touch of the button
	}
	made, errs := readDecision(n, values, declines)
	if len(errs) > 0 {
		return a.keepForm(values, []string{"chosen", "reason"}, errs)
	}
	made.AtMS, made.Ladder = a.now.At.WallMS, a.practice().Edition.Version()
	var changes []record.FieldValue
	if made.State == sessions.Accepted && !made.Waits && n.Decision.Next != nil {
		changes, made.Was = n.Item.Changes(a.takenUp(n.Item, *n.Decision.Next))
	}
	id, err := a.create(d, sessions.KindDecision, made.Values())
	if err != nil {
		return err
	}
	if err := a.writeAll(d, n.Item.ID, changes); err != nil {
		return err
	}
	delete(a.forms, a.route)
	a.route = afterDecision(d, made)
	a.said = &Said{Text: say("said.decided"), Undo: takeBack(id)}
	answer.Sync = true
	return nil
}

// decidedItem is the exercise that a command is about.
func (a *App) decidedItem() (*record.Doc, planning.Next, error) {
	var args struct {
		Item string `json:"item"`
	}
	d, err := a.subject()
	if err == nil {
		err = a.args(&args)
	}
	if err != nil {
		return nil, planning.Next{}, err
	}
	n, found := a.nextOf(d, args.Item)
	if !found {
		return nil, n, refuse("unknown_record", "", say("error.unknown_record"))
	}
	return d, n, nil
}

func takeBack(decision record.ID) *Action {
	return &Action{
		Label: say("decide.take_back"), Do: "decide.undo",
		Args: map[string]any{"decision": decision.String()},
	}
}

// undoDecision takes a decision back: what it changed in the plan is as it was before, and an
// exercise that waited for a clinician by it alone is due again.
func (a *App) undoDecision(answer *Answer) error {
	var args struct {
		Decision string `json:"decision"`
	}
	d, err := a.subject()
	if err == nil {
		err = a.args(&args)
	}
	if err != nil {
		return err
	}
	for _, made := range sessions.Decisions(d) {
		latest, _ := latestOn(d, made.About)
		if made.ID.String() != args.Decision || latest.ID != made.ID {
			continue
		}
		item, err := record.ParseID(made.About)
		if err != nil {
			break // a decision on a whole plan
		}
		if err := a.writeAll(d, item, sessions.Before(made.Was)); err != nil {
			return err
		}
		a.said = &Said{Text: say("said.decision_back")}
		answer.Sync = true
		return a.write(d, made.ID, record.VoidedField, record.Text("taken back"))
	}
	return refuse("phase", "", say("error.phase"))
}

func (a *App) writeAll(d *record.Doc, id record.ID, values []record.FieldValue) error {
	for _, f := range values {
		if err := a.write(d, id, f.Field, f.Value); err != nil {
			return err
		}
	}
	return nil
}

// clearReferral notes a clinician's look, which lets an exercise go on, and with "all" every
// one that waits.
func (a *App) clearReferral(answer *Answer) error {
	d, n, err := a.decidedItem()
	if err != nil {
		return err
	}
	values, err := a.values()
	if err != nil {
		return err
	}
	by, note, errs := readLook(values)
	if len(errs) > 0 {
		return a.keepForm(values, []string{"by", "note"}, errs)
	}
	for _, r := range sessions.Referrals(d) {
		if !r.IsOpen() || r.Step != n.Item.Step && values["which"] != "all" {
			continue
		}
		look := sessions.ClearReferralValues(r, note, by, a.now.At.WallMS)
		if _, err := a.create(d, sessions.KindClear, look); err != nil {
			return err
		}
	}
	delete(a.forms, a.route)
	a.route = personRoute(d.ID())
	a.said = &Said{Text: say("said.cleared")}
	answer.Sync = true
	return nil
}

func readDecision(n planning.Next, values map[string]string, declines bool) (
	sessions.Decision, map[string]Text,
) {
	errs := map[string]Text{}
	words := make([]string, len(verdicts))
	for i, v := range verdicts {
		words[i] = string(v)
	}
	made := sessions.Decision{
		About: n.Item.ID.String(), State: sessions.Accepted, Step: n.Item.Step,
		Suggested: string(n.Decision.Verdict), Chosen: oneOf(values, "chosen", errs, words...),
		Reason: line(values, "reason", errs), Rules: rulesLine(n.Decision.Rules),
	}
	switch {
	case declines:
		made.State, made.Chosen = sessions.Declined, string(progression.Stay)
	case made.Chosen != made.Suggested:
		made.State = sessions.Changed
	}
	made.Waits = made.Chosen == sessions.ChosenRefer ||
		made.State == sessions.Accepted && n.Decision.AsksClinician()
	if made.State != sessions.Accepted && made.Reason == "" && errs["reason"] == "" {
		errs["reason"] = say("error.reason")
	}
	return made, errs
}

// afterDecision is where the coach goes on: to the numbers of the plan where the
// choice was the coach's own, else to the person.
func afterDecision(d *record.Doc, made sessions.Decision) string {
	switch progression.Verdict(made.Chosen) {
	case progression.Progress, progression.Ease:
		if made.State == sessions.Changed {
			return personRoute(d.ID()) + "/plan"
		}
	}
	return personRoute(d.ID())
}

// takenUp is an item with a suggested one in its place: its step and its numbers change, and
// what was pinned of another step is let go.
func (a *App) takenUp(item sessions.Item, next progression.Item) sessions.Item {
	want := a.practice().Item(next, 0)
	if want.Step == item.Step {
		want.Pinned = item.Pinned
	}
	return want
}

// rulesLine keeps the rules that fired with their numbers, one a line.
func rulesLine(rules []progression.Fired) string {
	var b strings.Builder
	for _, r := range rules {
		b.WriteString(r.Key)
		var names []string
		for name := range r.Numbers {
			names = append(names, name)
		}
		sort.Strings(names)
		for _, name := range names {
			b.WriteString(" " + name + "=" + strconv.FormatFloat(r.Numbers[name], 'g', -1, 64))
		}
		b.WriteByte('\n')
	}
	return strings.TrimSuffix(b.String(), "\n")
}
