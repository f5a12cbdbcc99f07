package app

import "evenhold/internal/boundary"

// passkeyRoute is the screen about the passkey with which a person comes back.
const passkeyRoute = "/passkey"

// question is what the browser is asked about a passkey: to make one or to show one, in the JSON
// form of Web Authentication Level 3, W3C.
type question struct {
	Passkey boundary.RawMessage `json:"passkey"`
	IsNew   bool                `json:"isNew"`
}

// toldPasskeys hears that this phone has passkeys.
func (a *App) toldPasskeys(*Answer) error {
	a.browser.Passkeys = true
	return nil
}

// isShutOff reports whether this phone has joined but is signed in no more.
func (a *App) isShutOff() bool { return a.me.hasJoined() && a.link.out != "" }

// askPasskey begins: a person who is in makes a passkey, one who is not shows theirs.
func (a *App) askPasskey(*Answer) error {
	a.ask = &Ask{Path: "/api/passkeys/ask", Then: "passkey.asked", Body: struct{}{}}
	if a.makesPasskey() {
		a.ask.Path, a.ask.Auth = "/api/passkeys/new", true
	}
	return nil
}

func (a *App) makesPasskey() bool { return a.me.hasJoined() && !a.isShutOff() }

// askedPasskey hands the server's question to the browser.
func (a *App) askedPasskey(answer *Answer) error {
	r, err := a.replied()
	if err != nil || r == nil {
		return err
	}
	q := question{IsNew: a.makesPasskey()}
	if err := boundary.Unmarshal(r.Body, &q); err != nil {
		return refuse("malformed", "", say("error.malformed"))
	}
	answer.Result = q
	return nil
}

// replied reads the server's answer; it says what went wrong and returns nil if it is not a good
// one.
func (a *App) replied() (*reply, error) {
	var r reply
	if err := a.args(&r); err != nil {
		return nil, err
	}
	if trouble := r.trouble(); trouble != "" {
		a.said = &Said{Text: trouble}
		return nil, nil
	}
	return &r, nil
}

// saidPasskey takes the browser's answer to the server. Nothing is said where the person did not
// want to.
func (a *App) saidPasskey(*Answer) error {
	var args struct {
		Said boundary.RawMessage `json:"said"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	if len(args.Said) == 0 {
		a.said = &Said{Text: say("passkey.not")}
		return nil
	}
	body := map[string]any{"passkey": args.Said}
	if a.makesPasskey() {
		a.ask = &Ask{Path: "/api/passkeys", Auth: true, Then: "passkey.kept", Body: body}
		return nil
	}
	a.ask = &Ask{Path: "/api/passkeys/join", Then: "passkey.in", Body: body}
	if a.isShutOff() {
		body["device"] = a.me.Device
		return nil
	}
	device, err := a.newDevice()
	if err != nil {
		return err
	}
	body["device"] = device.String()
	return nil
}

// inByPasskey hears whether the passkey lets this phone in.
func (a *App) inByPasskey(answer *Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	if trouble := r.trouble(); trouble != "" {
		a.notLetIn(trouble, a.isShutOff())
		return nil
	}
	return a.letIn(r, a.isShutOff(), true, answer)
}

// keptPasskey says that the passkey is good from now on.
func (a *App) keptPasskey(*Answer) error {
	r, err := a.replied()
	if r != nil {
		a.said = &Said{Text: say("passkey.kept")}
	}
	return err
}

// passkeyScreen says what a passkey does before there is one.
func (a *App) passkeyScreen() View {
	return View{
		Screen: "notice", Head: a.head("/"), Finding: say("passkey.finding"),
		Lines:   []Text{say("passkey.does"), say("passkey.name"), say("passkey.ends")},
		Actions: []Action{{Label: say("passkey.make"), Do: "passkey.ask", Kind: "main"}},
	}
}

// passkeyActions leads to that screen, or offers to come back, where this phone has passkeys.
func (a *App) passkeyActions() []Action {
	switch {
	case !a.browser.Passkeys:
		return nil
	case a.makesPasskey():
		return []Action{{Label: say("passkey.action"), Route: passkeyRoute, Kind: "quiet"}}
	}
	return []Action{{Label: say("passkey.come"), Do: "passkey.ask", Kind: "quiet"}}
}
