package app

import (
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// saveFlags keeps an answered safety screen. Each question needs an answer.
func (a *App) saveFlags(answer *Answer) error {
	d, values, err := a.entered()
	if err != nil {
		return err
	}
	id := d.ID()
	answers, errs, order := map[string]bool{}, map[string]Text{}, []string{}
	for _, q := range sessions.Questions() {
		order = append(order, q.ID)
		switch values[q.ID] {
		case "yes":
			answers[q.ID] = true
		case "no":
			answers[q.ID] = false
		default:
			errs[q.ID] = say("error.answer")
		}
	}
	if len(errs) > 0 {
		return a.keepForm(values, order, errs)
	}
	screen := sessions.ScreenValues(answers, a.now.At.WallMS)
	if _, err := a.create(d, sessions.KindScreen, screen); err != nil {
		return err
	}
	delete(a.forms, a.route)
	a.route = personRoute(id)
	a.said = &Said{Text: say("said.flags")}
	answer.Sync = true
	return nil
}

// clearFlags notes a clinician's look, which lets prescribing go on.
func (a *App) clearFlags(answer *Answer) error {
	d, values, err := a.entered()
	if err != nil {
		return err
	}
	id := d.ID()
	by, note, errs := readLook(values)
	if len(errs) > 0 {
		return a.keepForm(values, []string{"by", "note"}, errs)
	}
	for {
		open, found := sessions.OpenFlag(d)
		if !found {
			break
		}
		fields := sessions.ClearValues(open, note, by, a.now.At.WallMS)
		if _, err := a.create(d, sessions.KindClear, fields); err != nil {
			return err
		}
	}
	delete(a.forms, a.route)
	a.route = personRoute(id)
	a.said = &Said{Text: say("said.cleared")}
	answer.Sync = true
	return nil
}

// readLook reads who looked and what they found; both are needed.
func readLook(values map[string]string) (by, note string, errs map[string]Text) {
	errs = map[string]Text{}
	by, note = line(values, "by", errs), values["note"]
	if by == "" && errs["by"] == "" {
		errs["by"] = say("error.clear_by")
	}
	if note == "" {
		errs["note"] = say("error.clear_note")
	}
	return by, note, errs
}

// lookFields ask for what readLook reads.
func lookFields() []Field {
	return []Field{
		{ID: "by", Kind: "text", Label: say("clear.by"), Hint: say("clear.by_hint")},
		{ID: "note", Kind: "long", Label: say("clear.note")},
	}
}

// flagsForm is the safety screen of our own wording.
func (a *App) flagsForm(d *record.Doc) View {
	v := View{
		Screen: "form", Head: a.headOf(d, say("flags.where")),
		Finding: say("flags.finding"), Lines: []Text{say("flags.lead"), say("flags.local")},
	}
	v.Head.Back = personRoute(d.ID())
	for _, q := range sessions.Questions() {
		v.Fields = append(v.Fields, Field{ID: q.ID, Kind: "answer", Label: say("flag." + q.ID)})
	}
	v.Fields = a.forms[a.route].show(v.Fields)
	v.Actions = []Action{{Label: say("action.save"), Do: "flags.save", Kind: "main", Form: true}}
	return v
}

// clearForm asks who looked, and what they found.
func (a *App) clearForm(d *record.Doc) View {
	v := View{
		Screen: "form", Head: a.headOf(d, say("clear.where")),
		Finding: say("clear.finding"), Lines: []Text{say("clear.lead")},
		Fields: a.forms[a.route].show(lookFields()),
		Actions: []Action{{
			Label: say("clear.save"), Do: "flags.clear", Kind: "main", Form: true,
		}},
	}
	v.Head.Back = personRoute(d.ID())
	return v
}

// flagCare is the amber block of an open yes: which, and whom to ask. It is
// nil when nothing is open.
func (a *App) flagCare(d *record.Doc) *Care {
	open, found := sessions.OpenFlag(d)
	if !found {
		return nil
	}
	care := &Care{Title: say("care.flag_title")}
	isNow := false
	for _, q := range sessions.Questions() {
		for _, yes := range open.Yes {
			if yes == q.ID {
				care.Lines = append(care.Lines, say("flag."+q.ID+".short"))
				isNow = isNow || q.Now
			}
		}
	}
	if isNow {
		care.Lines = append(care.Lines, say("care.flag_now"))
	}
	care.Lines = append(care.Lines, say("care.flag_ask"), say("care.flag_blocks"))
	if sessions.MayWrite(a.me.Role, sessions.KindClear, "note", true) {
		care.Actions = []Action{{
			Label: say("clear.action"), Route: personRoute(d.ID()) + "/clear", Kind: "care",
		}}
	}
	return care
}
