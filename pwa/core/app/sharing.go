package app

import (
	"slices"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// shares says who of the staff sees a record, beside the owner: all, or those named.
type shares struct {
	All    bool     `json:"all"`
	People []string `json:"people"`
}

// shares is what holds of the record on screen.
func (r *roster) shares() shares {
	s := shares{All: r.isAll, People: []string{}}
	for _, p := range r.people {
		if p.Sees && !r.isAll && p.Role != sessions.Owner {
			s.People = append(s.People, p.ID)
		}
	}
	return s
}

// turned is what would hold if one person were to see the record, or not any more.
func (r *roster) turned(one listed) shares {
	s := shares{People: []string{}}
	for _, p := range r.people {
		if p.Role != sessions.Owner && p.Sees != (p.ID == one.ID) {
			s.People = append(s.People, p.ID)
		}
	}
	return s
}

// setSharing asks the server to share the record on screen anew.
func (a *App) setSharing(*Answer) error {
	var want shares
	if err := a.args(&want); err != nil {
		return err
	}
	d, err := a.subject()
	if err != nil {
		return err
	}
	if a.roster == nil || !a.roster.isHere {
		return refuse("phase", "", say("error.phase"))
	}
	return a.changeRoster("/api/sharing/set", map[string]any{
		"doc": d.ID().String(), "all": want.All, "people": want.People,
	}, &Action{Label: say("action.undo"), Do: "share.set", Args: a.roster.shares()})
}

// sharingScreen tells who of the staff sees a record, and lets that be changed.
func (a *App) sharingScreen(d *record.Doc) View {
	v := View{Screen: "list", Head: a.headOf(d, say("share.where")), Finding: say("share.where")}
	v.Head.Back = personRoute(d.ID())
	if a.awaited(&v) {
		return v
	}
	r := a.roster
	v.Finding = say("share.some")
	lead := Section{Note: say("share.some_lead")}
	if r.isAll {
		v.Finding, lead.Note = say("share.all"), say("share.all_lead")
	}
	for _, p := range r.people {
		row := Row{
			Title: say("phones.person", "name", p.Name, "role", say("role."+string(p.Role))),
			Lines: []Text{say("share.sees")},
		}
		if !p.Sees {
			row.Lines[0] = say("share.sees_not")
		}
		switch {
		case p.Role == sessions.Owner:
			row.Lines = append(row.Lines, say("share.owner"))
		case p.ID != a.me.Person:
			label := say("share.end")
			if !p.Sees {
				label = say("share.add")
			}
			row.Actions = []Action{{Label: label, Do: "share.set", Args: r.turned(p)}}
		}
		lead.Rows = append(lead.Rows, row)
	}
	v.Sections = []Section{lead}
	if !r.isAll {
		v.Actions = []Action{{
			Label: say("share.open"), Do: "share.set", Args: shares{All: true, People: []string{}},
		}}
	} else if slices.ContainsFunc(r.people, func(p listed) bool { return p.Role != sessions.Owner }) {
		label := say("share.close")
		if a.me.Role == sessions.Owner {
			label = say("share.close_owner")
		}
		v.Actions = []Action{{
			Label: label, Do: "share.set", Args: shares{People: []string{}},
		}}
	}
	return v
}
