package app

import "evenhold/internal/sessions"

// syncScreen says what has not been sent yet and what was refused, and why.
func (a *App) syncScreen() View {
	v := View{Screen: "list", Head: a.head("/"), Finding: a.stateText()}
	unsent := a.link.unsent()
	lead := Row{Lines: []Text{say("sync.on_phone", "n", unsent)}}
	if a.link.sentMS > 0 {
		lead.Lines = append(lead.Lines,
			say("sync.last", "on", day(a.link.sentMS), "at", clockTime(a.link.sentMS)))
	}
	if days := a.daysUnsent(); days >= lateDays {
		lead.Lines, lead.Care = append(lead.Lines, say("sync.late", "n", days)), true
	}
	if n := a.link.contact.Days; n > 0 {
		lead.Lines = append(lead.Lines, say("away.rule", "n", n))
	}
	if a.isOverdue() {
		lead.Lines, lead.Care = append(lead.Lines, say("away.kept")), true
	}
	stored := say("sync.open")
	switch {
	case a.browser.PIN:
		stored = say("sync.locked")
	case a.browser.Secure:
		stored = say("sync.sealed")
	}
	v.Sections = []Section{
		{Rows: []Row{lead}, Note: say("sync.safe")},
		a.browser.keeping(),
		{Title: say("sync.stored"), Note: stored},
	}
	if a.link.out != "" {
		v.Finding = say("out.finding")
		v.Sections[0].Rows = append([]Row{{Lines: []Text{say("out." + a.link.out)}, Care: true}},
			v.Sections[0].Rows...)
		v.Sections[0].Rows[0].Actions = a.passkeyActions()
	}
	var refused []Row
	for _, r := range a.link.phone.Refused() {
		name := ""
		if d, found := a.doc(r.Op.Doc); found {
			client, _ := sessions.ClientIn(d)
			name = client.Name
		}
		refused = append(refused, Row{
			Name:   name,
			Lines:  []Text{say("sync.refused_line", "kind", say("kind."+r.Op.Kind), "field", r.Op.Field)},
			Reason: say("refused." + r.Code),
		})
	}
	if len(refused) > 0 {
		v.Sections = append(v.Sections, Section{
			Title: say("sync.refused"), Note: say("sync.refused_note"), Rows: refused,
		})
	}
	v.Actions = []Action{
		{Label: say("sync.now"), Do: "sync.state", Kind: "main"},
		{Label: say("phones.action"), Route: "/phones", Kind: "quiet"},
	}
	return v
}

// prefsForm is how this phone shows things.
func (a *App) prefsForm() View {
	lang := a.prefs.Lang
	v := View{Screen: "form", Head: a.head("/"), Finding: say("look.finding"), Fields: []Field{
		{
			ID: "lang", Kind: "choice", Label: say("look.lang"), Value: lang, Options: []Option{
				{Value: "", Label: say("look.lang_phone")},
				{Value: "en", Label: say("look.lang_en")},
				{Value: "ar", Label: say("look.lang_ar")},
			},
		},
		{
			ID: "scheme", Kind: "choice", Label: say("look.scheme"), Value: a.prefs.Scheme,
			Options: []Option{
				{Value: "auto", Label: say("look.scheme_auto")},
				{Value: "light", Label: say("look.scheme_light")},
				{Value: "dark", Label: say("look.scheme_dark")},
			},
		},
	}}
	v.Fields[0].Hint = say("look.draft_note")
	v.Actions = []Action{{Label: say("action.save"), Do: "prefs", Kind: "main", Form: true}}
	return v
}
