package app

import (
	"strings"
	"unicode/utf8"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// laddersRoute is the page of the ladders; a step's own page stands below it.
const laddersRoute = practiceRoute + "/ladders"

// maxCue is the longest cue of a practice's own in characters: it is to be said in a
// second or two (ours).
const maxCue = 40

// shippedValue is written where a practice sets something back to how we ship it.
var shippedValue = record.Text("")

// stepHere is the step of the ladders that the present route is about.
func (a *App) stepHere() (*record.Doc, progression.Step, error) {
	id, _ := strings.CutPrefix(a.route, laddersRoute+"/")
	step, known := a.practice().Edition.Step(id)
	d, found := a.practiceDoc()
	if !known || !found {
		return nil, step, refuse("unknown_record", "", say("error.unknown_record"))
	}
	return d, step, nil
}

// setStep changes one number of a step, within the bounds.
func (a *App) setStep(answer *Answer) error {
	d, step, err := a.stepHere()
	if err != nil {
		return err
	}
	c, err := a.readChange()
	if err != nil {
		return err
	}
	field := progression.Editable(c.Field)
	shipped, _ := progression.StepByID(step.ID)
	bound, has := progression.EditBound(&shipped, field)
	if !has {
		return refuse("unknown_record", "", say("error.unknown_record"))
	}
	n, err := scaled(c.Value, float64(bound.PerShown))
	if err == nil {
		err = progression.CheckEdit(&shipped, field, n)
	}
	if err != nil {
		return a.keepForm(nil, []string{c.id()}, map[string]Text{c.id(): boundText(err)})
	}
	delete(a.forms, a.route)
	answer.Sync = true
	n -= n % bound.PerShown // whole seconds, whole metres
	return a.writeStep(d, step.ID, c.Field, record.Int(n))
}

// setCues keeps a practice's own words for the cues of a step; an empty one is ours again.
func (a *App) setCues(answer *Answer) error {
	d, step, err := a.stepHere()
	if err != nil {
		return err
	}
	values, err := a.values()
	if err != nil {
		return err
	}
	fields := step.EditCues()
	errs := map[string]Text{}
	for _, field := range fields {
		if utf8.RuneCountInString(strings.TrimSpace(values[field])) > maxCue {
			errs[field] = say("error.long", "max", maxCue)
		}
	}
	if len(errs) > 0 {
		return a.keepForm(values, fields, errs)
	}
	for _, field := range fields {
		if err := a.writeStep(d, step.ID, field, record.Text(line(values, field, errs))); err != nil {
			return err
		}
	}
	delete(a.forms, a.route)
	a.said = &Said{Text: say("said.cues")}
	answer.Sync = true
	return nil
}

// hideStep takes a step out of what is suggested, or brings it back.
func (a *App) hideStep(answer *Answer) error {
	d, step, err := a.stepHere()
	if err != nil {
		return err
	}
	if !step.CanHide() {
		return refuse("last_item", "", say("ladders.stays"))
	}
	answer.Sync = true
	return a.writeStep(d, step.ID, progression.EditHidden, record.Bool(!step.Hidden))
}

// moveStep puts a step one further up or down in its ladder.
func (a *App) moveStep(answer *Answer) error {
	var args struct {
		Up bool `json:"up"`
	}
	d, step, err := a.stepHere()
	if err == nil {
		err = a.args(&args)
	}
	if err != nil {
		return err
	}
	before, after, further := a.practice().Edition.Beside(step.ID, args.Up)
	place, err := record.Between(before, after)
	if !further || err != nil {
		return refuse("phase", "", say("error.phase")) // a second touch of the button
	}
	answer.Sync = true
	return a.writeStep(d, step.ID, progression.EditPlace, record.Text(place))
}

// shipStep sets everything about a step back to how we ship it.
func (a *App) shipStep(answer *Answer) error {
	d, step, err := a.stepHere()
	if err != nil {
		return err
	}
	for _, field := range changedFields(d, step.ID) {
		if err := a.writeStep(d, step.ID, field, shippedValue); err != nil {
			return err
		}
	}
	delete(a.forms, a.route)
	a.said = &Said{Text: say("said.shipped")}
	answer.Sync = true
	return nil
}

// changedFields are those in which a practice says something else of a step than we do.
func changedFields(d *record.Doc, step string) []string {
	var fields []string
	r, found := d.Record(sessions.StepID(step))
	if !found {
		return nil
	}
	for field, register := range r.Fields() {
		isChanged := register.Value() != shippedValue
		if isChanged && field != "step" && field != record.VoidedField {
			fields = append(fields, field)
		}
	}
	return fields
}

// writeStep writes one field about a step; its record begins with the first that says
// something else than we do.
func (a *App) writeStep(d *record.Doc, step, field string, v record.Value) error {
	id := sessions.StepID(step)
	r, begun := d.Record(id)
	if v == shippedValue && (!begun || !r.Register(field).IsSet()) {
		return nil
	}
	if !begun {
		err := a.writeAs(d, id, sessions.KindStep, "step", record.Text(step))
		if err != nil {
			return err
		}
	}
	return a.writeAs(d, id, sessions.KindStep, field, v)
}
