package app

import (
	"slices"
	"strings"

	"evenhold/internal/boundary"
	"evenhold/internal/sessions"
)

// roster is what the server told of people, their phones and who sees a record, shown until the
// screen is left.
type roster struct {
	route   string
	trouble Text
	isHere  bool
	people  []listed
	isAll   bool    // the record on screen is shared with all staff
	ending  string  // the phone that is asked about
	off     bool    // signing this phone off is asked about
	leaving bool    // taking the person on screen out is asked about
	undo    *Action // takes back what is being asked for
}

// listed is one person with their phones; sees is about the record on screen.
type listed struct {
	ID     string        `json:"id"`
	Name   string        `json:"name"`
	Role   sessions.Role `json:"role"`
	Phones []onePhone    `json:"phones"`
	Sees   bool          `json:"sees"`
}

type onePhone struct {
	_         [0]func()
	Device    string `json:"device"`
	JoinedMS  int64  `json:"joinedMS"`
	ContactMS int64  `json:"contactMS"`
	State     string `json:"state"`
	ToldMS    int64  `json:"toldMS"`
	PasskeyMS int64  `json:"passkeyMS"`
}

func (l listed) isIn() bool {
	return slices.ContainsFunc(l.Phones, func(d onePhone) bool { return d.State == "in" })
}

// isRosterRoute reports whether a screen shows what only the server knows.
func isRosterRoute(route string) bool {
	return strings.HasSuffix(route, "/phones") || strings.HasSuffix(route, "/sharing") ||
		route == staffRoute || strings.HasPrefix(route, staffRoute+"/")
}

// askRoster asks the server for what the screen of the present route shows.
func (a *App) askRoster(*Answer) error {
	a.roster = &roster{route: a.route}
	body := map[string]string{}
	if strings.HasPrefix(a.route, "/p/") && !a.me.isClient() {
		d, _, isNew := a.routeDoc()
		if isNew {
			return nil // what is not on this phone has no such screen
		}
		body["doc"] = d.ID().String()
	}
	a.ask = &Ask{Path: "/api/people", Auth: true, Then: "roster.told", Body: body}
	if strings.HasSuffix(a.route, "/sharing") {
		a.ask.Path = "/api/sharing"
	}
	return nil
}

// toldRoster shows what the server told, or says why there is nothing.
func (a *App) toldRoster(*Answer) error {
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
		All    bool     `json:"all"`
	}
	if err := boundary.Unmarshal(r.Body, &body); err != nil {
		a.roster.trouble = say("problem.other", "status", "200")
		return nil
	}
	a.roster.people, a.roster.isAll, a.roster.isHere = body.People, body.All, true
	return nil
}

// changeRoster asks the server for a change of what is shown; undo, if any, takes it back.
func (a *App) changeRoster(path string, body any, undo *Action) error {
	a.roster.undo = undo
	a.ask = &Ask{Path: path, Auth: true, Then: "roster.done", Body: body}
	return nil
}

// changedRoster shows what holds now.
func (a *App) changedRoster(answer *Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	if a.roster == nil {
		return nil
	}
	if trouble := r.trouble(); trouble != "" {
		a.roster.trouble, a.roster.ending, a.roster.leaving = trouble, "", false
		return nil
	}
	a.said = nil
	if a.roster.undo != nil {
		a.said = &Said{Text: say("roster.said"), Undo: a.roster.undo}
	}
	return a.askRoster(answer)
}

// awaited puts what there is to say before the server has told anything; it reports whether
// that is all.
func (a *App) awaited(v *View) bool {
	r := a.roster
	switch {
	case r == nil || r.route != a.route:
		v.Actions = []Action{{Label: say("phones.list"), Do: "roster.list", Kind: "main"}}
	case r.trouble != "":
		v.Sections = []Section{{Rows: []Row{{Lines: []Text{r.trouble}}}}}
		v.Actions = []Action{{Label: say("invite.again"), Do: "roster.list", Kind: "main"}}
	case !r.isHere:
		v.Sections = []Section{{Rows: []Row{{Lines: []Text{say("phones.asking")}}}}}
	default:
		return false
	}
	return true
}

// onScreen returns the member of staff whom the present route is about.
func (a *App) onScreen() (listed, error) {
	id, _, _ := strings.Cut(strings.TrimPrefix(a.route, staffRoute+"/"), "/")
	if a.roster != nil {
		for _, p := range a.roster.people {
			if p.ID == id {
				return p, nil
			}
		}
	}
	return listed{}, refuse("phase", "", say("error.phase"))
}
