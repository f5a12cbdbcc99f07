package app

import (
	"evenhold/internal/boundary"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// invitation is a code made for a client, shown until the screen is left.
type invitation struct {
	doc       string
	trouble   Text
	code      string
	link      string
	expiresMS int64
	rows      []string
}

// makeInvite asks the server for a one-use code that opens this one record.
func (a *App) makeInvite(*Answer) error {
	d, err := a.subject()
	if err != nil {
		return err
	}
	id := d.ID()
	client, _ := sessions.ClientIn(d)
	a.invite = &invitation{doc: id.String()}
	a.ask = &Ask{Path: "/api/invitations", Auth: true, Then: "invite.made", Body: map[string]string{
		"role": string(sessions.ClientOf), "name": client.Name, "doc": id.String(),
	}}
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
		Code      string `json:"code"`
		Link      string `json:"link"`
		ExpiresMS int64  `json:"expiresMS"`
		QR        struct {
			Rows []string `json:"rows"`
		} `json:"qr"`
	}
	if err := boundary.Unmarshal(r.Body, &body); err != nil {
		a.invite.trouble = say("problem.other", "status", "200")
		return nil
	}
	a.invite.code, a.invite.link, a.invite.expiresMS = body.Code, body.Link, body.ExpiresMS
	a.invite.rows = body.QR.Rows
	return nil
}

// inviteScreen shows the code as a QR, a link and letters.
func (a *App) inviteScreen(d *record.Doc) View {
	client, _ := sessions.ClientIn(d)
	v := View{
		Screen: "invite", Head: a.headOf(d, say("invite.where")),
		Finding: say("invite.finding", "name", client.Name),
	}
	v.Head.Back = personRoute(d.ID())
	make := Action{Label: say("invite.make"), Do: "invite.make", Kind: "main"}
	i := a.invite
	switch {
	case i == nil || i.doc != d.ID().String():
		v.Lines = []Text{say("invite.lead"), say("invite.sees")}
		if a.link.unsent() > 0 {
			v.Lines = append(v.Lines, say("invite.unsent"))
		}
	case i.trouble != "":
		v.Lines = []Text{i.trouble}
		make.Label = say("invite.again")
	case i.code == "":
		v.Lines = []Text{say("invite.asking")}
		return v
	default:
		until := say("invite.until", "on", day(i.expiresMS), "at", clockTime(i.expiresMS))
		v.Lines = []Text{say("invite.how"), until}
		v.QR, v.Link, v.Code = i.rows, i.link, i.code
		make.Label, make.Kind = say("invite.another"), "quiet"
	}
	v.Actions = []Action{make}
	return v
}
