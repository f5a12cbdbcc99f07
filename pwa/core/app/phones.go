package app

import "evenhold/sync/record"

// askEnd asks whether a phone, or a person with all of theirs, is to be shut out; without one it
// takes the question back.
func (a *App) askEnd(*Answer) error {
	var args struct {
		Device  string `json:"device"`
		Off     bool   `json:"off"`
		Leaving bool   `json:"leaving"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	if a.roster == nil {
		a.roster = &roster{route: a.route}
	}
	a.roster.ending, a.roster.off, a.roster.leaving = args.Device, args.Off, args.Leaving
	return nil
}

// endPhone shuts a phone out.
func (a *App) endPhone(*Answer) error {
	var args struct {
		Wipe bool `json:"wipe"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	if a.roster == nil || a.roster.ending == "" {
		return refuse("phase", "", say("error.phase"))
	}
	return a.changeRoster("/api/phones/out",
		map[string]any{"device": a.roster.ending, "wipe": args.Wipe}, nil)
}

// signOff ends this phone's own access; what is on it goes when the server has answered.
func (a *App) signOff(*Answer) error {
	a.ask = &Ask{Path: "/api/forget", Auth: true, Then: "phones.off_done", Body: map[string]string{}}
	return nil
}

func (a *App) signedOff(*Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	// Who is not signed in any more has nothing left to end.
	if trouble := r.trouble(); trouble != "" && r.Status != 401 {
		if a.roster != nil {
			a.roster.trouble, a.roster.off = trouble, false
		}
		return nil
	}
	a.empty()
	a.said = &Said{Text: say("phones.off_said")}
	return nil
}

// empty takes everything off this phone but how it shows things.
func (a *App) empty() {
	prefs := a.prefs
	for _, store := range []string{"meta", "snap", "log", "run", "view"} {
		a.writes = append(a.writes, Write{
			Store: store, Key: "all", Delete: true, Range: []string{"", "\uffff"},
		})
	}
	now, writes, blobs, facts := a.now, a.writes, a.blobs, a.browser
	a.reset()
	a.now, a.writes, a.blobs, a.browser, a.prefs = now, writes, blobs, facts, prefs
	a.fresh = map[record.ID][]record.Operation{}
	a.put("meta", "prefs", prefs)
}

// phonesScreen lists people with their phones and when each was last heard of.
func (a *App) phonesScreen(back string) View {
	v := View{Screen: "list", Head: a.head(back), Finding: say("phones.finding")}
	if r := a.roster; r != nil && (r.ending != "" || r.off) {
		return a.phoneQuestion()
	}
	if a.awaited(&v) {
		return v
	}
	for _, p := range a.roster.people {
		v.Sections = append(v.Sections, a.phonesOf(p))
	}
	if len(a.roster.people) == 0 {
		v.Sections = []Section{{Empty: say("phones.none")}}
	}
	if back == "/" {
		v.Actions = append(v.Actions, Action{
			Label: say("phones.off"), Do: "phones.ask", Args: map[string]bool{"off": true}, Kind: "quiet",
		})
	}
	return v
}

func (a *App) phonesOf(p listed) Section {
	s := Section{
		Title: say("phones.person", "name", p.Name, "role", say("role."+string(p.Role))),
		Empty: say("phones.none"),
	}
	for _, d := range p.Phones {
		row := Row{
			Title: say("phones.joined", "on", day(d.JoinedMS)),
			Lines: []Text{say("phones.contact", "on", day(d.ContactMS), "at", clockTime(d.ContactMS))},
		}
		switch {
		case d.Device == a.me.Device:
			row.Lines = append(row.Lines, say("phones.this"))
		case d.State == "in" || d.State == "ended":
			row.Actions = []Action{{
				Label: say("phones.end"), Do: "phones.ask", Args: map[string]string{"device": d.Device},
			}}
		}
		if d.PasskeyMS > 0 && (d.State == "in" || d.State == "ended") {
			row.Lines = append(row.Lines, say("phones.passkey", "on", day(d.PasskeyMS)))
		}
		switch {
		case d.ToldMS > 0:
			row.Lines = append(row.Lines,
				say("phones.told", "on", day(d.ToldMS), "at", clockTime(d.ToldMS)))
		case d.State != "in":
			row.Lines = append(row.Lines, say("phones.state_"+d.State))
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

// phoneQuestion asks before what cannot be undone, and says what would be lost.
func (a *App) phoneQuestion() View {
	leave := Action{Label: say("phones.leave"), Do: "phones.ask", Kind: "quiet"}
	if a.roster.off {
		v := View{Screen: "notice", Head: a.head("/"), Finding: say("phones.off_finding")}
		v.Lines = []Text{say("phones.off_lead")}
		if n := a.link.unsent() + a.link.attention(); n > 0 {
			v.Lines = append(v.Lines, say("phones.off_unsent", "n", n))
		}
		v.Actions = []Action{{Label: say("phones.off_go"), Do: "phones.off", Kind: "care"}, leave}
		return v
	}
	v := View{Screen: "notice", Head: a.head("/"), Finding: say("phones.end_finding")}
	v.Lines = []Text{say("phones.end_lead"), say("phones.lost_lead")}
	do, keep, wipe := "phones.end", say("phones.end_go"), say("phones.lost_go")
	if p, err := a.onScreen(); a.roster.leaving && err == nil {
		v.Finding = say("staff.out_finding", "name", p.Name)
		v.Lines = []Text{say("staff.out_lead"), say("staff.wipe_lead")}
		do, keep, wipe = "staff.out", say("staff.out_go"), say("staff.wipe_go")
	}
	v.Actions = []Action{
		{Label: wipe, Do: do, Args: map[string]bool{"wipe": true}}, {Label: keep, Do: do}, leave,
	}
	return v
}
