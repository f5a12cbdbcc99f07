package app

import (
	"strings"
	"unicode/utf8"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// maxName is the longest name or complaint in characters.
const maxName = 120

var personFields = []string{
	"name", "complaint", "statureMM", "massG", "birthYear", "sex", "dominant",
	"targetMS",
}

// savePerson adds a client, or changes what is known of one.
func (a *App) savePerson(answer *Answer) error {
	values, err := a.values()
	if err != nil {
		return err
	}
	client, errs := a.readClient(values)
	if len(errs) > 0 {
		return a.keepForm(values, personFields, errs)
	}
	d, id, isNew := a.routeDoc()
	if isNew {
		if !sessions.MayOpen(a.me.Role) {
			return errRole
		}
		d = a.link.phone.Open(a.link.phone.Author().NextID())
		if _, err := a.create(d, sessions.KindClient, client.Values()); err != nil {
			return err
		}
		id = d.ID()
	} else if err := a.changeClient(d, client); err != nil {
		return err
	}
	delete(a.forms, a.route)
	a.route = personRoute(id)
	a.said = &Said{Text: say("said.person", "name", client.Name)}
	answer.Sync = true
	return nil
}

func (a *App) readClient(values map[string]string) (sessions.Client, map[string]Text) {
	errs := map[string]Text{}
	client := sessions.Client{
		Name:      line(values, "name", errs),
		Complaint: line(values, "complaint", errs),
		StatureMM: number(values, "statureMM", progression.StatureMM, errs),
		MassG:     number(values, "massG", progression.MassG, errs),
		TargetMS:  number(values, "targetMS", progression.HoldMS, errs),
		Sex:       oneOf(values, "sex", errs, "", "female", "male"),
		Dominant:  oneOf(values, "dominant", errs, "", "left", "right"),
	}
	if client.Name == "" && errs["name"] == "" {
		errs["name"] = say("error.name")
	}
	if s := strings.TrimSpace(values["birthYear"]); s != "" {
		year, err := parseScaled(s, 1)
		if err != nil {
			errs["birthYear"] = say("error.number")
		} else if err := progression.CheckBirthYear(year, a.year()); err != nil {
			errs["birthYear"] = boundText(err)
		}
		client.BirthYear = year
	}
	return client, errs
}

func line(values map[string]string, id string, errs map[string]Text) string {
	s := strings.TrimSpace(values[id])
	if utf8.RuneCountInString(s) > maxName {
		errs[id] = say("error.long", "max", maxName)
	}
	return s
}

func oneOf(values map[string]string, id string, errs map[string]Text, allowed ...string) string {
	for _, v := range allowed {
		if values[id] == v {
			return v
		}
	}
	errs[id] = say("error.choice")
	return ""
}

func (a *App) changeClient(d *record.Doc, c sessions.Client) error {
	old, _ := sessions.ClientIn(d)
	changes := []record.FieldValue{
		{Field: "name", Value: record.Text(c.Name)},
		{Field: "complaint", Value: record.Text(c.Complaint)},
		{Field: "statureMM", Value: record.Int(c.StatureMM)},
		{Field: "massG", Value: record.Int(c.MassG)},
		{Field: "birthYear", Value: record.Int(c.BirthYear)},
		{Field: "sex", Value: record.Text(c.Sex)},
		{Field: "dominant", Value: record.Text(c.Dominant)},
		{Field: "targetMS", Value: record.Int(c.TargetMS)},
	}
	r, _ := d.Record(old.ID)
	for _, change := range changes {
		isUnsaid := change.Value == record.Text("") || change.Value == record.Int(0)
		if isUnsaid && !r.Register(change.Field).IsSet() {
			continue
		}
		if err := a.write(d, old.ID, change.Field, change.Value); err != nil {
			return err
		}
	}
	return nil
}

// personForm is the screen to add a client, or change what is known of one.
func (a *App) personForm(d *record.Doc) View {
	v := View{Screen: "form", Head: a.head("/")}
	client := sessions.Client{}
	if d != nil {
		client, _ = sessions.ClientIn(d)
		v.Head.Back = personRoute(d.ID())
		v.Finding = say("person.change")
	} else {
		v.Finding = say("person.add")
	}
	optional := func(f Field) Field { f.Optional = true; return f }
	v.Fields = a.forms[a.route].show([]Field{
		{ID: "name", Kind: "text", Label: say("person.name"), Value: client.Name},
		optional(Field{
			ID: "complaint", Kind: "text", Label: say("person.complaint"), Value: client.Complaint,
			Hint: say("person.complaint_hint"),
		}),
		optional(Field{
			ID: "massG", Kind: "number", Label: say("person.mass"), Unit: say("unit.kg"),
			Value: shown(client.MassG, 1000), Hint: say("person.mass_hint"),
		}),
		optional(Field{
			ID: "statureMM", Kind: "number", Label: say("person.stature"), Unit: say("unit.cm"),
			Value: shown(client.StatureMM, 10), Hint: say("person.stature_hint"),
		}),
		optional(Field{
			ID: "birthYear", Kind: "number", Label: say("person.birth_year"),
			Value: shown(client.BirthYear, 1),
		}),
		optional(Field{
			ID: "sex", Kind: "choice", Label: say("person.sex"), Value: client.Sex,
			Hint: say("person.sex_hint"), Options: []Option{
				{Value: "", Label: say("person.not_said")},
				{Value: "female", Label: say("person.female")},
				{Value: "male", Label: say("person.male")},
			},
		}),
		optional(Field{
			ID: "dominant", Kind: "choice", Label: say("person.dominant"), Value: client.Dominant,
			Options: []Option{
				{Value: "", Label: say("person.not_said")},
				{Value: "left", Label: say("person.dominant_left")},
				{Value: "right", Label: say("person.dominant_right")},
			},
		}),
		optional(Field{
			ID: "targetMS", Kind: "number", Label: say("person.target"), Unit: say("unit.s"),
			Value: shown(client.TargetMS, 1000), Hint: say("person.target_hint"),
		}),
	})
	v.Actions = []Action{{
		Label: say("action.save"), Do: "person.save", Kind: "main", Form: true,
	}}
	return v
}
