package app

import "evenhold/internal/sessions"

const rightsRoute = practiceRoute + "/rights"

// rightsScreen shows the table by which the server judges every entry, for each role: what it
// may write, what only where the same person began it, and what not.
func (a *App) rightsScreen() View {
	v := View{
		Screen: "list", Head: a.practiceHead(practiceRoute), Finding: say("rights.title"),
		Sections: []Section{{Note: say("rights.lead", "role", say("role."+string(a.me.Role)))}},
	}
	for _, role := range sessions.Roles() {
		section := Section{Title: say("rights.of_" + string(role))}
		for _, r := range []struct {
			right sessions.Right
			title Text
		}{
			{sessions.Any, say("rights.any")}, {sessions.Own, say("rights.own")},
			{sessions.None, say("rights.none")},
		} {
			row := Row{Title: r.title}
			for _, rule := range sessions.Policy() {
				if rule.Of(role) == r.right && rule.Kind != "" {
					row.Lines = append(row.Lines, ruleWord(rule))
				}
			}
			if len(row.Lines) > 0 {
				section.Rows = append(section.Rows, row)
			}
		}
		v.Sections = append(v.Sections, section)
	}
	return v
}

func ruleWord(r sessions.Rule) Text {
	if r.Fields != nil {
		return say("rights.part_" + r.Kind)
	}
	return say("kind." + r.Kind)
}
