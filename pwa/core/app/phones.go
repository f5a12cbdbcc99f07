package app

import (
	"evenhold/internal/boundary"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// roster is what the server told of people and their phones, shown until the screen is left.
type roster struct {
	route   string
	trouble Text
	isHere  bool
	people  []listed
	ending  string // the phone that is asked about
	off     bool   // signing this phone off is asked about
}

// listed is one person with their phones.
type listed struct {
	ID     string        `json:"id"`
	Name   string        `json:"name"`
	Role   sessions.Role `json:"role"`
	Phones []onePhone    `json:"phones"`
}

type onePhone struct {
	Device    string `json:"device"`
	JoinedMS  int64  `json:"joinedMS"`
	ContactMS int64  `json:"contactMS"`
	State     string `json:"state"`
	ToldMS    int64  `json:"toldMS"`
}

// askPhones asks the server whose phones there are, for the screen of the present route.
func (a *App) askPhones(*Answer) error {
	a.roster = &roster{route: a.route}
	body := map[string]string{}
	if d, _, isNew := a.routeDoc(); !isNew && !a.me.isClient() {
		body["doc"] = d.ID().String()
	}
	a.ask = &Ask{Path: "/api/people", Auth: true, Then: "phones.told", Body: body}
	return nil
}

// toldPhones shows the list, or says why there is none.
func (a *App) toldPhones(*Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	if a.roster == nil {
		return nil
	}
	if a.roster.trouble = r.trouble(); a.roster.trouble != "" {
		return nil
	}
	var body struct {
		People []listed `json:"people"`
	}
	if err := boundary.Unmarshal(r.Body, &body); err != nil {
		a.roster.trouble = say("problem.other", "status", "200")
		return nil
	}
	a.roster.people, a.roster.isHere = body.People, true
	return nil
}

// askEnd asks whether a phone is to be shut out; without one, it takes the question back.
func (a *App) askEnd(*Answer) error {
	var args struct {
		Device string `json:"device"`
		Off    bool   `json:"off"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	if a.roster == nil {
		a.roster = &roster{route: a.route}
	}
	a.roster.ending, a.roster.off = args.Device, args.Off
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
	a.ask = &Ask{Path: "/api/phones/out", Auth: true, Then: "phones.ended", Body: map[string]any{
		"device": a.roster.ending, "wipe": args.Wipe,
	}}
	return nil
}

// endedPhone shows the list anew.
func (a *App) endedPhone(answer *Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	if a.roster == nil {
		return nil
	}
	if trouble := r.trouble(); trouble != "" {
		a.roster.trouble, a.roster.ending = trouble, ""
		return nil
	}
	return a.askPhones(answer)
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
	now, writes, blobs := a.now, a.writes, a.blobs
	a.reset()
	a.now, a.writes, a.blobs, a.prefs = now, writes, blobs, prefs
	a.fresh = map[record.ID][]record.Operation{}
	a.put("meta", "prefs", prefs)
}

// phonesScreen lists people with their phones and when each was last heard of.
func (a *App) phonesScreen(back string) View {
	v := View{Screen: "list", Head: a.head(back), Finding: say("phones.finding")}
	r := a.roster
	switch {
	case r == nil || r.route != a.route:
		v.Actions = []Action{{Label: say("phones.list"), Do: "phones.list", Kind: "main"}}
		return v
	case r.ending != "" || r.off:
		return a.phoneQuestion()
	case r.trouble != "":
		v.Sections = []Section{{Rows: []Row{{Lines: []Text{r.trouble}}}}}
		v.Actions = []Action{{Label: say("invite.again"), Do: "phones.list", Kind: "main"}}
	case !r.isHere:
		v.Sections = []Section{{Rows: []Row{{Lines: []Text{say("phones.asking")}}}}}
	default:
		for _, p := range r.people {
			v.Sections = append(v.Sections, a.phonesOf(p))
		}
		if len(r.people) == 0 {
			v.Sections = []Section{{Empty: say("phones.none")}}
		}
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
	v.Actions = []Action{
		{Label: say("phones.end_go"), Do: "phones.end"},
		{Label: say("phones.lost_go"), Do: "phones.end", Args: map[string]bool{"wipe": true}},
		leave,
	}
	return v
}
