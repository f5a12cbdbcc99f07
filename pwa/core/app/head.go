package app

import (
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// head is the top of a screen that is not about one person.
func (a *App) head(back string) Head {
	return Head{State: a.stateText(), StateRoute: "/sync", Back: back}
}

// headOf is the top of a screen about a person.
func (a *App) headOf(d *record.Doc, where Text) Head {
	client, _ := sessions.ClientIn(d)
	h := a.head("/")
	h.Name, h.Where = client.Name, where
	return h
}

// stateText says where things stand, in one of four wordings.
func (a *App) stateText() Text {
	unsent, attention := a.link.unsent(), a.link.attention()
	if a.daysUnsent() >= lateDays {
		attention++
	}
	switch {
	case attention > 0:
		return say("state.attention", "n", attention)
	case a.link.isSending && unsent > 0:
		return say("state.sending", "n", max(a.link.batch-unsent, 0), "all", max(a.link.batch, unsent))
	case unsent > 0:
		return say("state.saved")
	case a.link.sentMS > 0:
		return say("state.sent", "at", clockTime(a.link.sentMS))
	}
	return say("state.saved")
}

// fill puts empty lists where the page expects lists.
func (v *View) fill() {
	some(&v.Actions)
	switch v.Screen {
	case "list":
		some(&v.Sections)
	case "result":
		some(&v.Sections)
		some(&v.Detail)
	case "form":
		some(&v.Fields)
	case "plan":
		some(&v.Items)
	case "work":
		some(&v.Lines)
		some(&v.Notes)
	case "notice", "invite":
		some(&v.Lines)
	}
	for i := range v.Sections {
		some(&v.Sections[i].Rows)
		for j := range v.Sections[i].Rows {
			some(&v.Sections[i].Rows[j].Lines)
		}
	}
	for i := range v.Items {
		some(&v.Items[i].Lines)
		some(&v.Items[i].Steppers)
	}
	if v.Foot != nil {
		some(&v.Foot.Chips)
	}
	for i := range v.Workings {
		w := &v.Workings[i]
		some(&w.Inputs)
		some(&w.Steps)
		some(&w.Sources)
		some(&w.Cautions)
	}
	if w := v.Working; w != nil {
		some(&w.Inputs)
		some(&w.Steps)
		some(&w.Sources)
		some(&w.Cautions)
	}
}

func some[T any](list *[]T) {
	if *list == nil {
		*list = []T{}
	}
}
