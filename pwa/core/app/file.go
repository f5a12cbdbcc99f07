package app

import (
	"evenhold/internal/boundary"
	"evenhold/internal/export"
	"evenhold/internal/sessions"
)

// file is what the page hands to the person to keep. Its name says nothing
// about whom it is of.
type file struct {
	_    [0]func()
	Name string `json:"name"`
	Type string `json:"type"`
	Text string `json:"text,omitempty"`

	Base64 string `json:"base64,omitempty"` // in the place of text
}

// exportTable hands out every hold and set of the record on screen as a table.
func (a *App) exportTable(answer *Answer) error {
	d, err := a.subject()
	if err != nil {
		return err
	}
	answer.Result = file{
		Name: "evenhold-efforts.csv", Type: "text/csv",
		Text: export.Efforts(sessions.Tests(d), sessions.Trunks(d), sessions.Sessions(d)),
	}
	a.said = &Said{Text: say("said.table")}
	return nil
}

// exportAction offers the table.
func exportAction() Action { return Action{Label: say("table.action"), Do: "export.table"} }

// askExport asks the server for everything that it holds about the person on screen.
func (a *App) askExport(*Answer) error {
	d, err := a.subject()
	if err != nil {
		return err
	}
	a.ask = &Ask{Path: "/api/export", Auth: true, Then: "export.done", Body: map[string]string{
		"doc": d.ID().String(),
	}}
	return nil
}

// exported hands the file out, or says why there is none.
func (a *App) exported(answer *Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	if trouble := r.trouble(); trouble != "" {
		return refuse("export", "", trouble)
	}
	var f file
	if err := boundary.Unmarshal(r.Body, &f); err != nil {
		return refuse("malformed", "", say("error.malformed"))
	}
	answer.Result = f
	a.said = &Said{Text: say("said.everything")}
	return nil
}

// everythingAction offers the file with all that is held about a person.
func everythingAction() Action {
	return Action{Label: say("everything.action"), Do: "export.ask", Kind: "quiet"}
}
