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
	d, err := a.subject()
	if err != nil {
		return err
	}
	var args struct {
		Item string `json:"item"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	values, err := a.values()
	if err != nil {
		return err
	}
	n, found := a.nextOf(d, args.Item)
	if !found {
		return refuse("unknown_record", "", say("error.unknown_record"))
	}
	if _, flagged := sessions.OpenFlag(d); flagged {
		return refuse("withheld", "", say("refuse.red_flag_open"))
	}
	made, errs := readDecision(n, values, declines)
	if len(errs) > 0 {
		return a.keepForm(values, []string{"chosen", "reason"}, errs)
	}
	made.AtMS = a.now.At.WallMS
	if _, err := a.create(d, sessions.KindDecision, made.Values()); err != nil {
		return err
	}
	if made.State == sessions.Accepted && n.Decision.Next != nil {
		if err := a.takeUp(d, n.Item, *n.Decision.Next); err != nil {
			return err
		}
	}
	delete(a.forms, a.route)
	a.route = afterDecision(d, made)
	a.said = &Said{Text: say("said.decided")}
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
	if made.State != sessions.Accepted && made.Reason == "" && errs["reason"] == "" {
		errs["reason"] = say("error.reason")
	}
	return made, errs
}

// afterDecision is where the coach goes on: to the numbers of the plan where the
// choice was the coach's own, to the test for a retest.
func afterDecision(d *record.Doc, made sessions.Decision) string {
	at := personRoute(d.ID())
	switch progression.Verdict(made.Chosen) {
	case progression.Retest:
		return at + "/test"
	case progression.Progress, progression.Ease:
		if made.State == sessions.Changed {
			return at + "/plan"
		}
	}
	return at
}

// takeUp puts a suggested item in the place of the present one: its numbers change,
// or, for another step, a new item takes its place and the old one is voided.
func (a *App) takeUp(d *record.Doc, item sessions.Item, next progression.Item) error {
	want := planning.Item(next, 0)
	want.Plan, want.Order = item.Plan, item.Order
	want.First, want.Weaker = item.First, item.Weaker
	if want.Step != item.Step {
		if _, err := a.create(d, sessions.KindItem, want.Values()); err != nil {
			return err
		}
		return a.write(d, item.ID, record.VoidedField, record.Text("decision"))
	}
	for _, f := range want.Values() {
		if err := a.write(d, item.ID, f.Field, f.Value); err != nil {
			return err
		}
	}
	return nil
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
