package app

import (
	"strconv"
	"strings"

	"evenhold/internal/boundary"
	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// joining is an invitation that is being taken up.
type joining struct {
	_        [0]func()
	code     string
	role     sessions.Role
	person   string
	practice string
	isKnown  bool // the person has had a phone here before
	trouble  Text
}

// reply is the server's answer to an Ask.
type reply struct {
	Status int                 `json:"status"` // HTTP status; 0: not reached
	Body   boundary.RawMessage `json:"body"`
	// AfterMS is how long the server wants to be left alone, 0 where it does not say.
	AfterMS int64 `json:"afterMS"`
}

// trouble words a reply that is not a success, by the closed list of codes.
func (r reply) trouble() Text {
	if r.Status >= 200 && r.Status < 300 {
		return ""
	}
	if r.Status == 0 {
		return say("error.offline")
	}
	var problem struct {
		Code string `json:"code"`
	}
	if boundary.Unmarshal(r.Body, &problem) == nil && problemKeys[problem.Code] != "" {
		return say("problem." + problemKeys[problem.Code])
	}
	return say("problem.other", "status", strconv.Itoa(r.Status))
}

// problemKeys are the words of the server's problem codes that have some of
// their own.
var problemKeys = map[string]string{
	"used": "used", "expired": "expired", "locked": "locked",
	"unknown": "unknown_code", "forbidden": "forbidden",
	"slow": "rate", "busy": "busy", "full": "full",
	"malformed": "malformed", "signin": "signed_out",
	"unknown_doc": "unsent", "taken": "taken",
	"passkey": "passkey", "no_passkeys": "no_passkeys",
	"turned_away": "turned_away", "answered": "answered", "no_knock": "expired",
}

// joinCode takes a code from a link or as typed, and asks what it is for.
func (a *App) joinCode(*Answer) error {
	var args struct {
		Code   string            `json:"code"`
		Values map[string]string `json:"values"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	code := args.Code
	if code == "" {
		code = args.Values["code"]
	}
	// A whole link is as good as the code in it.
	if _, after, found := strings.Cut(code, "#"); found {
		code = after
	}
	if code = strings.Join(strings.Fields(code), ""); code == "" { // a long one is pasted in lines
		return a.keepForm(args.Values, []string{"code"}, map[string]Text{"code": say("error.code")})
	}
	if err := a.stopAsking(nil); err != nil {
		return err
	}
	if a.me.hasJoined() {
		a.joining = &joining{code: code}
		a.route = "/join"
		return nil
	}
	return a.look(code)
}

// look asks what an invitation is for.
func (a *App) look(code string) error {
	a.joining = &joining{code: code}
	a.route = "/join"
	a.ask = &Ask{Path: "/api/join/look", Body: map[string]string{"code": code}, Then: "join.looked"}
	return nil
}

// joinOver empties this phone and takes the invitation up, if nothing would be
// lost by it: all is sent, and nothing was refused.
func (a *App) joinOver(*Answer) error {
	if a.joining == nil || a.link.unsent()+a.link.attention() > 0 {
		return refuse("phase", "", say("error.phase"))
	}
	code := a.joining.code
	a.empty()
	return a.look(code)
}

// joinBack signs this phone in again under its own identity, so that what it has not sent
// goes on its way: the server takes it only by an invitation for the same person.
func (a *App) joinBack(*Answer) error {
	if a.joining == nil || a.link.out == "" {
		return refuse("phase", "", say("error.phase"))
	}
	a.knock(asking{Code: a.joining.code, Device: a.me.Device, Name: a.me.Name, IsBack: true})
	return nil
}

// joinAgain asks what to do with an invitation on a phone that has joined.
func (a *App) joinAgain() View {
	v := View{
		Screen: "notice", Head: a.head("/"),
		Finding: say("again.finding", "name", a.me.Name, "practice", a.me.PracticeName),
		Lines:   []Text{say("again.lead")},
		Actions: []Action{{Label: say("again.keep"), Route: "/", Kind: "main"}},
	}
	if a.link.out != "" {
		v.Lines[0] = say("again.back_lead")
		v.Actions[0] = Action{Label: say("again.back"), Do: "join.back", Kind: "main"}
	}
	if n := a.link.unsent() + a.link.attention(); n > 0 {
		v.Lines = append(v.Lines, say("again.unsent", "n", n))
		return v
	}
	v.Lines = append(v.Lines, say("again.over_lead"))
	v.Actions = append(v.Actions, Action{Label: say("again.over"), Do: "join.over"})
	return v
}

// joinLooked hears what the code is for.
func (a *App) joinLooked(*Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	if a.joining == nil {
		return nil
	}
	if a.joining.trouble = r.trouble(); a.joining.trouble != "" {
		return nil
	}
	var body struct {
		Role     sessions.Role `json:"role"`
		Person   string        `json:"person"`
		Practice string        `json:"practice"`
		Known    bool          `json:"known"`
	}
	if err := boundary.Unmarshal(r.Body, &body); err != nil {
		a.joining.trouble = say("problem.other", "status", "200")
		return nil
	}
	a.joining.role, a.joining.person, a.joining.practice = body.Role, body.Person, body.Practice
	a.joining.isKnown = body.Known
	return nil
}

// joinDo takes the invitation up. The device's identity is made here, from the
// command's random bytes.
func (a *App) joinDo(*Answer) error {
	values, err := a.values()
	if err != nil {
		return err
	}
	if a.asking != nil {
		return nil // a second tap
	}
	if a.joining == nil {
		return refuse("phase", "", say("error.phase"))
	}
	errs := map[string]Text{}
	name, practice := line(values, "name", errs), line(values, "practice", errs)
	isNew := !a.joining.isKnown
	if isNew && a.joining.role != sessions.ClientOf && name == "" {
		errs["name"] = say("error.name")
	}
	if isNew && a.joining.role == sessions.Owner && practice == "" {
		errs["practice"] = say("error.practice")
	}
	if len(errs) > 0 {
		return a.keepForm(values, []string{"practice", "name"}, errs)
	}
	if name == "" {
		name = a.joining.person
	}
	device, err := a.newDevice()
	if err != nil {
		return err
	}
	a.knock(asking{Code: a.joining.code, Device: device.String(), Name: name, Practice: practice,
		IsKnown: a.joining.isKnown})
	return nil
}

func (a *App) newDevice() (clock.Device, error) {
	const digits = 16 // of a device's 64 bits
	d, err := strconv.ParseUint(a.now.Random[:min(digits, len(a.now.Random))], 16, 64)
	if err != nil || len(a.now.Random) < digits {
		return 0, refuse("malformed", "", say("error.malformed"))
	}
	return max(clock.Device(d), 1), nil
}

// namePractice writes the practice's name where all of its phones read it.
func (a *App) namePractice(name string) error {
	id, err := record.ParseID(a.me.PracticeDoc)
	if err != nil {
		return err
	}
	_, err = a.create(a.link.phone.Open(id), sessions.KindPractice, []record.FieldValue{
		{Field: "name", Value: record.Text(name)},
	})
	return err
}

// welcome is the screen of a phone that has not joined.
func (a *App) welcome() View {
	v := View{Screen: "notice", Head: Head{State: say("state.not_joined")}}
	j := a.joining
	switch {
	case a.asking != nil:
		return a.askingView()
	case j == nil || j.trouble != "":
		v.Finding = say("welcome.finding")
		v.Lines = []Text{say("welcome.lead")}
		if c := a.link.contact; c.AtMS == 0 && c.Days > 0 {
			v.Lines = []Text{say("away.emptied", "n", c.Days), say("welcome.lead")}
		}
		if j != nil {
			v.Finding, v.Lines = say("welcome.trouble"), []Text{j.trouble}
		}
		fields := a.forms[a.route].show([]Field{{
			ID: "code", Kind: "code", Label: say("welcome.code"), Hint: say("welcome.code_hint"),
		}})
		v.Field = &fields[0]
		v.Actions = append(a.passkeyActions(),
			Action{Label: say("welcome.go"), Do: "join.code", Kind: "main", Form: true})
	case j.role == "":
		v.Finding = say("welcome.looking")
	default:
		return a.joinForm()
	}
	return v
}

func (a *App) joinForm() View {
	j := a.joining
	v := View{Screen: "form", Head: Head{State: say("state.not_joined")}}
	switch {
	case j.isKnown && j.role != sessions.ClientOf:
		v.Finding = say("join.known", "name", j.person)
		v.Lines = []Text{say("join.coach_lead")}
	case j.role == sessions.Owner:
		v.Finding = say("join.owner")
		v.Lines = []Text{say("join.owner_lead")}
		v.Fields = []Field{
			{ID: "practice", Kind: "text", Label: say("join.practice")},
			{ID: "name", Kind: "text", Label: say("join.name")},
		}
	case j.role == sessions.ClientOf:
		v.Finding = say("join.client", "name", j.person)
		v.Lines = []Text{say("join.client_lead", "practice", j.practice), say("join.client_data")}
	default:
		v.Finding = say("join.coach", "practice", j.practice)
		v.Lines = []Text{say("join.coach_lead")}
		v.Fields = []Field{{ID: "name", Kind: "text", Label: say("join.name"), Value: j.person}}
	}
	v.Fields = a.forms[a.route].show(v.Fields)
	v.Actions = []Action{{Label: say("join.go"), Do: "join.do", Kind: "main", Form: true}}
	return v
}
