package app

import (
	"evenhold/internal/boundary"
	"evenhold/internal/sessions"
)

// doorRoute is the page of who asks to come in.
const doorRoute = "/door"

// knocker is a phone that showed a right code and waits for a tap on this one.
type knocker struct {
	_       [0]func()
	ID      string        `json:"id"`
	Phone   string        `json:"phone"` // what kind its browser says it is
	Address string        `json:"address"`
	Name    string        `json:"name"` // of whom it would be let in for
	Role    sessions.Role `json:"role"`
	Known   bool          `json:"known"`
	AtMS    int64         `json:"atMS"`
}

// knockArgs are what a tap says of a knocker.
type knockArgs struct {
	Knock string `json:"knock"`
	Let   bool   `json:"let"`
}

// hearKnocks takes up how many phones wait, as the server says with each exchange.
func (a *App) hearKnocks(n int64) {
	if n == 0 {
		a.knockers = nil
		return
	}
	a.askKnocks()
}

func (a *App) askKnocks() {
	a.ask = &Ask{Path: "/api/knocks", Auth: true, Then: "knock.told", Body: map[string]string{}}
}

// toldKnocks shows who waits. Without an answer what was shown stays.
func (a *App) toldKnocks(*Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	var body struct {
		Knocks []knocker `json:"knocks"`
	}
	if r.trouble() == "" && boundary.Unmarshal(r.Body, &body) == nil {
		a.knockers = body.Knocks
	}
	return nil
}

// answerKnock lets a waiting phone in or turns it away.
func (a *App) answerKnock(*Answer) error {
	var args knockArgs
	if err := a.args(&args); err != nil {
		return err
	}
	a.ask = &Ask{Path: "/api/knocks/answer", Auth: true, Then: "knock.done",
		Body: map[string]any{"id": args.Knock, "let": args.Let}}
	a.letting = args.Let
	return nil
}

// answeredKnock says what became of it, and asks who waits now.
func (a *App) answeredKnock(*Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	said := r.trouble()
	if said == "" {
		said = say("knock.turned_away")
		if a.letting {
			said = say("knock.let_in")
		}
		a.invite = nil // its code is used
	}
	a.said = &Said{Text: said}
	a.askKnocks()
	return nil
}

// doorView shows who waits, with the two ways to answer.
func (a *App) doorView(head Head) View {
	s := Section{Note: say("knock.lead")}
	for _, k := range a.knockers {
		lines := []Text{say("knock.phone_" + k.Phone), say("knock.from", "address", k.Address,
			"at", clockTime(k.AtMS))}
		if k.Known {
			lines = append(lines, say("knock.known"))
		}
		s.Rows = append(s.Rows, Row{
			Title: say("phones.person", "name", k.Name, "role", say("role."+string(k.Role))),
			Lines: lines,
			Actions: []Action{
				{Label: say("knock.let"), Do: "knock.answer", Args: knockArgs{k.ID, true}, Kind: "main"},
				{Label: say("knock.away"), Do: "knock.answer", Args: knockArgs{k.ID, false}},
			},
		})
	}
	return View{Screen: "list", Head: head, Finding: say("knock.finding"), Sections: []Section{s}}
}

// knockLine leads from any other screen to who waits; nil where nobody does.
func (a *App) knockLine(v View) *Action {
	if len(a.knockers) == 0 || v.Finding == say("knock.finding") {
		return nil
	}
	return &Action{Label: say("knock.finding"), Route: doorRoute}
}
