package app

import (
	"slices"
	"strconv"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// draft is a suggested plan that the coach is looking at: suggested by the
// core, changed by the coach, not yet accepted.
type draft struct {
	Test    string          `json:"test"`
	Items   []sessions.Item `json:"items"`
	Changed bool            `json:"changed"`
	// Before is what the last change replaced, for undo.
	Before []sessions.Item `json:"before,omitempty"`
}

// draftOf returns the draft of a person's plan, made from the suggestion when
// there is none.
func (a *App) draftOf(d *record.Doc, s progression.Suggestion, test sessions.Test) draft {
	if kept, found := a.drafts[d.ID().String()]; found && kept.Test == test.ID.String() {
		return kept
	}
	return draft{Test: test.ID.String(), Items: a.prescribe(d, s).Items}
}

// draftChange reads a change to the draft of the person on the screen, with the suggestion
// that the draft is of.
func (a *App) draftChange() (d *record.Doc, s progression.Suggestion, dr draft, c change,
	err error) {
	if d, err = a.subject(); err != nil {
		return
	}
	if c, err = a.readChange(); err != nil {
		return
	}
	s, test := planning.First(d, a.practice())
	dr = a.draftOf(d, s, test)
	if c.Item < 0 || c.Item >= len(dr.Items) {
		err = refuse("unknown_record", "", say("error.unknown_record"))
	}
	return
}

// setDraft changes one number of a draft's item.
func (a *App) setDraft(*Answer) error {
	d, s, dr, change, err := a.draftChange()
	if err != nil {
		return err
	}
	item, err := change.apply(dr.Items[change.Item])
	if err != nil {
		return a.keepForm(nil, []string{change.id()}, map[string]Text{change.id(): boundText(err)})
	}
	delete(a.forms, a.route)
	a.replace(d, s, dr, change.Item, planning.SetPin(item, change.Field, true))
	return nil
}

// replace puts a changed item into a draft; the numbers of it that are not pinned follow,
// and what was there before can be had back.
func (a *App) replace(d *record.Doc, s progression.Suggestion, dr draft, at int,
	item sessions.Item) {
	dr.Before = dr.Items
	dr.Items = slices.Clone(dr.Items)
	dr.Items[at], dr.Changed = item, true
	near := item
	for place, suggested := range s.Items {
		if suggested.StepID == item.Step {
			near = a.practice().Item(suggested, place)
		}
	}
	dr.Items[at] = a.follow(d, s, dr.Items, at, near)
	a.keepDraft(d, dr)
	a.said = &Said{
		Text: say("said.dose"), Undo: &Action{Label: say("action.undo"), Do: "plan.undo"},
	}
}

// follow is the item at place at with its numbers that are not pinned fitted, near to the dose
// of near. Nothing follows while a plan must not be suggested, or before both sides are known.
func (a *App) follow(d *record.Doc, s progression.Suggestion, items []sessions.Item, at int,
	near sessions.Item) sessions.Item {
	known, err := a.capacities(d)
	if err != nil || s.Refusal != "" {
		return items[at]
	}
	item, _, _ := known.Fit(a.practice().Edition, led(items), at, planning.BandFor(s), near)
	return item
}

// weighAgain chooses the weight of an item anew once it is let go.
func (a *App) weighAgain(d *record.Doc, s progression.Suggestion, item sessions.Item,
	field string) sessions.Item {
	known, err := a.capacities(d)
	isLoad := field == planning.PinLoadLeft || field == planning.PinLoadRight
	if err != nil || !isLoad || s.Refusal != "" || planning.BandFor(s) == planning.Easy {
		return item
	}
	weighed, _, _ := known.Weigh(item, a.practice().ImplementsG)
	for _, w := range bothSides {
		if planning.HasPin(item, loadField(w)) {
			weighed.LoadG[w] = item.LoadG[w]
		}
	}
	return weighed
}

// pinDraft makes a number of a draft stay as it is, or lets it follow the others again.
func (a *App) pinDraft(*Answer) error {
	d, s, dr, change, err := a.draftChange()
	if err != nil {
		return err
	}
	item := planning.SetPin(dr.Items[change.Item], change.Field, change.Pin)
	if !change.Pin {
		item = a.weighAgain(d, s, item, change.Field)
	}
	a.replace(d, s, dr, change.Item, item)
	return nil
}

// undoDraft takes the last change of a draft back.
func (a *App) undoDraft(*Answer) error {
	d, _, dr, _, err := a.draftChange()
	if err != nil {
		return err
	}
	if dr.Before == nil {
		return refuse("phase", "", say("error.phase"))
	}
	dr.Items, dr.Before = dr.Before, nil
	a.keepDraft(d, dr)
	a.said = nil
	return nil
}

func (a *App) keepDraft(d *record.Doc, dr draft) {
	a.drafts[d.ID().String()] = dr
	a.put("run", "draft:"+d.ID().String(), dr)
}

func (a *App) dropDraft(d *record.Doc) {
	delete(a.drafts, d.ID().String())
	a.drop("run", "draft:"+d.ID().String())
}

// removeDraft takes one exercise out of a draft.
func (a *App) removeDraft(*Answer) error {
	d, _, dr, change, err := a.draftChange()
	if err != nil {
		return err
	}
	if len(dr.Items) == 1 {
		return refuse("last_item", "", say("error.last_item"))
	}
	kept := append([]sessions.Item(nil), dr.Items[:change.Item]...)
	dr.Items, dr.Changed = append(kept, dr.Items[change.Item+1:]...), true
	a.keepDraft(d, dr)
	return nil
}

// acceptPlan writes the draft as the plan, and the decision with its reason.
func (a *App) acceptPlan(answer *Answer) error {
	d, values, err := a.entered()
	if err != nil {
		return err
	}
	s, test := planning.First(d, a.practice())
	if s.Refusal != "" {
		return refuse("withheld", "", say(s.Refusal))
	}
	if _, inForce := planInForce(d, test); inForce {
		return refuse("phase", "", say("error.phase")) // a second touch of the button
	}
	dr := a.draftOf(d, s, test)
	plan := sessions.Plan{Test: test.ID.String(), AcceptedMS: a.now.At.WallMS}
	planID, err := a.create(d, sessions.KindPlan, plan.Values())
	if err != nil {
		return err
	}
	for _, item := range dr.Items {
		item.Plan = planID.String()
		if _, err := a.create(d, sessions.KindItem, item.Values()); err != nil {
			return err
		}
	}
	state := sessions.Accepted
	if dr.Changed {
		state = sessions.Changed
	}
	if err := a.decide(d, state, values["reason"], test); err != nil {
		return err
	}
	a.said = &Said{Text: say("said.plan")}
	answer.Sync = true
	return nil
}

func (a *App) decide(d *record.Doc, state, reason string, test sessions.Test) error {
	decision := sessions.Decision{
		About: "plan", State: state, Reason: reason, Test: test.ID.String(), AtMS: a.now.At.WallMS,
		Ladder: a.practice().Edition.Version(),
	}
	if _, err := a.create(d, sessions.KindDecision, decision.Values()); err != nil {
		return err
	}
	a.dropDraft(d)
	a.route = personRoute(d.ID())
	return nil
}

// declinePlan keeps why the suggestion was not taken.
func (a *App) declinePlan(answer *Answer) error {
	d, values, err := a.entered()
	if err != nil {
		return err
	}
	errs := map[string]Text{}
	reason := line(values, "reason", errs)
	if reason == "" {
		errs["reason"] = say("error.reason")
	}
	if len(errs) > 0 {
		return a.keepForm(values, []string{"reason"}, errs)
	}
	_, test := planning.First(d, a.practice())
	if !sessions.MayWrite(a.me.Role, sessions.KindDecision, "", true) {
		return errRole
	}
	if a.route != personRoute(d.ID())+"/plan" {
		return refuse("phase", "", say("error.phase")) // a second touch of the button
	}
	a.said = &Said{Text: say("said.declined")}
	answer.Sync = true
	return a.decide(d, sessions.Declined, reason, test)
}

// setItem changes one number of an accepted plan's item. The numbers that are not pinned
// follow where a coach does so; a client sets what is at home and nothing else.
func (a *App) setItem(answer *Answer) error {
	d, plan, change, err := a.itemChange()
	if err != nil {
		return err
	}
	item, err := change.apply(plan.Items[change.Item])
	if err != nil {
		return a.keepForm(nil, []string{change.id()}, map[string]Text{change.id(): boundText(err)})
	}
	delete(a.forms, a.route)
	answer.Sync = true
	if !sessions.MayWrite(a.me.Role, sessions.KindItem, "pinned", false) {
		return a.write(d, item.ID, change.storedField(), change.value(item))
	}
	return a.revise(d, plan, change.Item, planning.SetPin(item, change.Field, true))
}

// pinItem makes a number of an accepted plan's item stay as it is, or lets it follow the
// others again.
func (a *App) pinItem(answer *Answer) error {
	d, plan, change, err := a.itemChange()
	if err != nil {
		return err
	}
	item := planning.SetPin(plan.Items[change.Item], change.Field, change.Pin)
	if !change.Pin {
		s, _ := planning.First(d, a.practice())
		item = a.weighAgain(d, s, item, change.Field)
	}
	answer.Sync = true
	return a.revise(d, plan, change.Item, item)
}

// itemChange reads a change to the plan in force.
func (a *App) itemChange() (*record.Doc, sessions.Plan, change, error) {
	d, err := a.subject()
	if err != nil {
		return nil, sessions.Plan{}, change{}, err
	}
	c, err := a.readChange()
	plan, _ := sessions.CurrentPlan(d)
	if err == nil && (c.Item < 0 || c.Item >= len(plan.Items)) {
		err = refuse("unknown_record", "", say("error.unknown_record"))
	}
	return d, plan, c, err
}

// revise writes a changed item of a plan with what follows from the change, to be undone with
// one touch.
func (a *App) revise(d *record.Doc, plan sessions.Plan, at int, item sessions.Item) error {
	before := plan.Items[at]
	plan.Items[at] = item
	s, _ := planning.First(d, a.practice())
	values, was := before.Changes(a.follow(d, s, plan.Items, at, item))
	if len(values) == 0 {
		return nil
	}
	a.said = &Said{Text: say("said.dose"), Undo: &Action{
		Label: say("action.undo"), Do: "item.undo",
		Args: map[string]any{"item": item.ID.String(), "was": was},
	}}
	return a.writeAll(d, item.ID, values)
}

// undoItem brings back the numbers that a change of an item replaced.
func (a *App) undoItem(answer *Answer) error {
	var args struct {
		Item string `json:"item"`
		Was  string `json:"was"`
	}
	d, err := a.subject()
	if err == nil {
		err = a.args(&args)
	}
	if err != nil {
		return err
	}
	id, err := record.ParseID(args.Item)
	if err != nil {
		return refuse("unknown_record", "", say("error.unknown_record"))
	}
	a.said = nil
	answer.Sync = true
	return a.writeAll(d, id, sessions.Before(args.Was))
}

func loadField(w sides.Working) string {
	if w == sides.WorksRight {
		return sessions.FieldLoadWorksRightG
	}
	return sessions.FieldLoadWorksLeftG
}

// change is one number of one exercise.
type change struct {
	_     [0]func()
	Item  int    `json:"item"`
	Field string `json:"field"`
	Value any    `json:"value"` // a number as stepped, or text as typed
	Pin   bool   `json:"pin"`   // of a command that pins or lets go
}

func (a *App) readChange() (change, error) {
	var c change
	err := a.args(&c)
	return c, err
}

func (c change) id() string { return c.Field + "/" + strconv.Itoa(c.Item) }

// quantityOf says in which quantity a field of an item is bounded.
var quantityOf = map[string]progression.Quantity{
	"holdMS": progression.HoldMS, "restSetMS": progression.TimeMS,
	"restRepMS":                   progression.TimeMS,
	sessions.FieldLoadWorksLeftG:  progression.LoadG,
	sessions.FieldLoadWorksRightG: progression.LoadG,
	"distanceMM":                  progression.DistanceMM, "timeMS": progression.TimeMS,
	"reps": progression.Reps, "sets": progression.Sets, "extraSets": progression.Sets,
}

// apply returns the item with the change made; an error for a number that
// cannot be.
func (c change) apply(item sessions.Item) (sessions.Item, error) {
	q, known := quantityOf[c.Field]
	if !known {
		return item, errNumber
	}
	bound, _ := progression.BoundOf(q)
	n, err := scaled(c.Value, float64(bound.PerShown))
	if err != nil {
		return item, err
	}
	if err := progression.Check(q, n); err != nil {
		return item, err
	}
	switch c.Field {
	case "holdMS":
		item.HoldMS = max(n, 1000)
	case "restSetMS":
		item.RestSetMS = n
	case "restRepMS":
		item.RestRepMS = n
	case "extraSets":
		item.ExtraSets = n
	case "distanceMM":
		item.DistanceMM = max(n, 1000)
	case "timeMS":
		item.TimeMS = max(n, 1000)
	case sessions.FieldLoadWorksLeftG:
		item.LoadG = map[sides.Working]int64{
			sides.WorksLeft: n, sides.WorksRight: item.LoadG[sides.WorksRight],
		}
	case sessions.FieldLoadWorksRightG:
		item.LoadG = map[sides.Working]int64{
			sides.WorksLeft: item.LoadG[sides.WorksLeft], sides.WorksRight: n,
		}
	case "reps":
		item.Reps = planning.Descending(max(n, 1), len(item.Reps))
	case "sets":
		item.Reps = planning.Descending(first(item.Reps), int(n))
	}
	return item, nil
}

// value is the changed field as it is stored.
func (c change) value(item sessions.Item) record.Value {
	switch c.Field {
	case "holdMS":
		return record.Int(item.HoldMS)
	case "restSetMS":
		return record.Int(item.RestSetMS)
	case "restRepMS":
		return record.Int(item.RestRepMS)
	case "distanceMM":
		return record.Int(item.DistanceMM)
	case "timeMS":
		return record.Int(item.TimeMS)
	case sessions.FieldLoadWorksLeftG:
		return record.Int(item.LoadG[sides.WorksLeft])
	case sessions.FieldLoadWorksRightG:
		return record.Int(item.LoadG[sides.WorksRight])
	}
	return record.Text(sessions.JoinReps(item.Reps))
}

// storedField is the field that a stepper's number is stored in.
func (c change) storedField() string {
	if c.Field == "sets" {
		return "reps"
	}
	return c.Field
}

// scaled reads a stepper's number or typed text, times per.
func scaled(v any, per float64) (int64, error) {
	switch v := v.(type) {
	case string:
		return parseScaled(v, per)
	case float64:
		return parseScaled(strconv.FormatFloat(v, 'f', -1, 64), per)
	}
	return 0, errNumber
}
