package app

import (
	"strings"

	"evenhold/internal/boundary"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// invitation is a code made for somebody, shown until the screen is left.
type invitation struct {
	route   string
	name    string
	body    map[string]string // what it was asked for with
	trouble Text
	code    string
	link    string
	untilMS int64 // by this phone's clock
	rows    []string
}

// makeInvite asks the server for a one-use code for whom the present screen is about.
func (a *App) makeInvite(*Answer) error {
	i := &invitation{route: a.route}
	if kept := a.invite; kept != nil && kept.route == a.route {
		i.name, i.body = kept.name, kept.body
	} else if err := a.invited(i); err != nil || i.body == nil {
		return err
	}
	a.invite = i
	a.ask = &Ask{Path: "/api/invitations", Auth: true, Then: "invite.made", Body: i.body}
	return nil
}

// invited says whom an invitation is for; without a body a form was refused.
func (a *App) invited(i *invitation) error {
	switch {
	case a.route == staffRoute+"/new":
		values, err := a.values()
		if err != nil {
			return err
		}
		errs := map[string]Text{}
		i.name = line(values, "name", errs)
		role := oneOf(values, "role", errs, string(sessions.Assistant), string(sessions.Coach))
		if i.name == "" {
			errs["name"] = say("error.name")
		}
		if len(errs) > 0 {
			return a.keepForm(values, []string{"name", "role"}, errs)
		}
		i.body = map[string]string{"role": role, "name": i.name}
	case strings.HasPrefix(a.route, staffRoute):
		p, err := a.onScreen()
		if err != nil {
			return err
		}
		i.name, i.body = p.Name, map[string]string{"role": string(p.Role), "person": p.ID}
	default:
		d, err := a.subject()
		if err != nil {
			return err
		}
		client, _ := sessions.ClientIn(d)
		i.name, i.body = client.Name, map[string]string{
			"role": string(sessions.ClientOf), "name": client.Name, "doc": d.ID().String(),
		}
	}
	return nil
}

// madeInvite shows the code, or says why there is none.
func (a *App) madeInvite(*Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	if a.invite == nil {
		return nil
	}
	if trouble := r.trouble(); trouble != "" {
		a.invite.trouble = trouble
		if r.Status == 0 {
			a.invite.trouble = say("invite.offline")
		}
		return nil
	}
	var body struct {
		Code   string `json:"code"`
		Link   string `json:"link"`
		LeftMS int64  `json:"leftMS"`
		QR     struct {
			Rows []string `json:"rows"`
		} `json:"qr"`
	}
	if err := boundary.Unmarshal(r.Body, &body); err != nil {
		a.invite.trouble = say("problem.other", "status", "200")
		return nil
	}
	a.invite.code, a.invite.link, a.invite.rows = body.Code, body.Link, body.QR.Rows
	a.invite.untilMS = a.now.At.WallMS + body.LeftMS
	return nil
}

// inviteScreen invites a client.
func (a *App) inviteScreen(d *record.Doc) View {
	client, _ := sessions.ClientIn(d)
	head := a.headOf(d, say("invite.where"))
	head.Back = personRoute(d.ID())
	lead := []Text{say("invite.lead"), say("invite.sees")}
	if a.link.unsent() > 0 {
		lead = append(lead, say("invite.unsent"))
	}
	return a.codeView(head, say("invite.finding", "name", client.Name), say("invite.how"), lead...)
}

// codeView shows a code as a QR, a link and letters with how to use it, and the lead before there
// is one.
func (a *App) codeView(head Head, finding, how Text, lead ...Text) View {
	v := View{Screen: "invite", Head: head, Finding: finding}
	make := Action{Label: say("invite.make"), Do: "invite.make", Kind: "main"}
	i := a.invite
	switch {
	case i == nil || i.route != a.route || i.code != "" && a.now.At.WallMS >= i.untilMS:
		v.Lines = lead
	case i.trouble != "":
		v.Lines = []Text{i.trouble}
		make.Label = say("invite.again")
	case i.code == "":
		v.Lines = []Text{say("invite.asking")}
		return v
	case len(a.knockers) > 0:
		return a.doorView(head)
	default:
		until := say("invite.until", "at", clockTime(i.untilMS))
		v.Lines = []Text{how, until}
		v.QR, v.Link, v.Code = i.rows, i.link, i.code
		make.Label, make.Kind = say("invite.another"), "quiet"
	}
	v.Actions = []Action{make}
	return v
}
