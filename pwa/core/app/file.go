package app

import (
	"evenhold/internal/export"
	"evenhold/internal/sessions"
)

// file is what the page hands to the person to keep. Its name says nothing
// about whom it is of.
type file struct {
	Name string `json:"name"`
	Type string `json:"type"`
	Text string `json:"text"`
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
