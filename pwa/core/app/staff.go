package app

import (
	"strings"

	"evenhold/internal/sessions"
)

// staffRoute is the page of who works in the practice; each has a page below it, and "new"
// invites one more.
const staffRoute = practiceRoute + "/people"

// staffScreen lists who works in the practice, for the owner.
func (a *App) staffScreen() View {
	switch _, after, _ := strings.Cut(strings.TrimPrefix(a.route, staffRoute), "/"); {
	case after == "new":
		return a.staffInvite()
	case strings.HasSuffix(after, "/invite"):
		return a.phoneInvite()
	case after != "":
		return a.memberScreen()
	}
	v := View{Screen: "list", Head: a.practiceHead(practiceRoute), Finding: say("staff.title")}
	if a.awaited(&v) {
		return v
	}
	section := Section{Note: say("staff.lead")}
	for _, p := range a.roster.people {
		row := Row{
			Title: plain(p.Name), Lines: []Text{say("rights.of_" + string(p.Role))},
			Route: staffRoute + "/" + p.ID,
		}
		if !p.isIn() {
			row.Reason = say("staff.out")
		}
		section.Rows = append(section.Rows, row)
	}
	v.Sections = []Section{section, {Rows: []Row{{
		Title: say("rights.title"), Route: rightsRoute,
	}}}}
	v.Actions = []Action{{Label: say("staff.invite"), Route: staffRoute + "/new", Kind: "main"}}
	return v
}

// memberScreen is about one of the staff: their role, their phones, and taking them out.
func (a *App) memberScreen() View {
	v := View{Screen: "list", Head: a.practiceHead(staffRoute), Finding: say("staff.title")}
	if a.awaited(&v) {
		return v
	}
	p, err := a.onScreen()
	if err != nil {
		return v
	}
	v.Finding = plain(p.Name)
	if a.roster.ending != "" || a.roster.leaving {
		return a.phoneQuestion()
	}
	s := a.phonesOf(p)
	s.Title = say("rights.of_" + string(p.Role))
	v.Sections = []Section{s}
	if p.Role == sessions.Owner {
		s.Note = say("staff.owner")
		v.Sections[0] = s
		v.Actions = []Action{{Label: say("staff.further"), Route: a.route + "/invite"}}
		return v
	}
	other := sessions.Coach
	if p.Role == other {
		other = sessions.Assistant
	}
	v.Actions = []Action{
		{Label: say("staff.make_" + string(other)), Do: "staff.role", Args: roleOf{other}},
		{Label: say("staff.further"), Route: a.route + "/invite"},
	}
	if p.isIn() {
		v.Actions = append(v.Actions, Action{
			Label: say("staff.take_out"), Do: "phones.ask", Args: map[string]bool{"leaving": true},
			Kind: "quiet",
		})
	}
	return v
}

// roleOf is a role to give.
type roleOf struct {
	Role sessions.Role `json:"role"`
}

// setRole makes the person on screen a coach or an assistant.
func (a *App) setRole(*Answer) error {
	var want roleOf
	if err := a.args(&want); err != nil {
		return err
	}
	p, err := a.onScreen()
	if err != nil {
		return err
	}
	return a.changeRoster("/api/people/role",
		map[string]string{"person": p.ID, "role": string(want.Role)},
		&Action{Label: say("action.undo"), Do: "staff.role", Args: roleOf{p.Role}})
}

// takeOut shuts the person on screen out of the practice.
func (a *App) takeOut(*Answer) error {
	var args struct {
		Wipe bool `json:"wipe"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	p, err := a.onScreen()
	if err != nil {
		return err
	}
	return a.changeRoster("/api/people/out", map[string]any{"person": p.ID, "wipe": args.Wipe}, nil)
}

// staffInvite asks whom to invite, then shows the code.
func (a *App) staffInvite() View {
	if a.invite != nil && a.invite.route == a.route {
		return a.codeView(a.practiceHead(staffRoute), say("invite.finding", "name", a.invite.name),
			say("staff.how"))
	}
	return View{
		Screen: "form", Head: a.practiceHead(staffRoute), Finding: say("staff.invite"),
		Lines: []Text{say("staff.invite_lead")},
		Fields: a.forms[a.route].show([]Field{
			{ID: "name", Kind: "text", Label: say("person.name")},
			{ID: "role", Kind: "choice", Label: say("staff.role"), Value: string(sessions.Assistant),
				Options: []Option{
					{Value: string(sessions.Assistant), Label: say("staff.may_assistant")},
					{Value: string(sessions.Coach), Label: say("staff.may_coach")},
				}},
		}),
		Actions: []Action{{Label: say("invite.make"), Do: "invite.make", Kind: "main", Form: true}},
	}
}

// phoneInvite shows a code for another phone of somebody who is known.
func (a *App) phoneInvite() View {
	back := strings.TrimSuffix(a.route, "/invite")
	v := View{Screen: "list", Head: a.practiceHead(back), Finding: say("staff.further")}
	if a.awaited(&v) {
		return v
	}
	p, err := a.onScreen()
	if err != nil {
		return v
	}
	return a.codeView(v.Head, say("invite.finding", "name", p.Name), say("staff.how"),
		say("staff.further_lead"))
}
