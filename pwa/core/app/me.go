package app

import (
	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// me is who this phone belongs to; the zero value has not joined.
type me struct {
	_            [0]func()
	Device       string        `json:"device"`
	Person       string        `json:"person"` // the server's identifier
	Name         string        `json:"name"`
	Role         sessions.Role `json:"role"`
	PracticeName string        `json:"practiceName"`
	PracticeDoc  string        `json:"practiceDoc"`
	Doc          string        `json:"doc,omitempty"` // a client's own record
}

func (m me) hasJoined() bool { return m.Device != "" }

func (m me) isClient() bool { return m.Role == sessions.ClientOf }

// become takes up what the person may do by now; they are told. Nobody becomes a client, an owner
// or what this version does not know.
func (a *App) become(role sessions.Role) {
	if role == a.me.Role || role != sessions.Coach && role != sessions.Assistant ||
		a.me.isClient() {
		return
	}
	a.me.Role = role
	a.put("meta", "me", a.me)
	a.said = &Said{Text: say("staff.now", "may", say("staff.may_"+string(role)))}
}

// prefs is how this phone shows things.
type prefs struct {
	Lang   string `json:"lang"`   // "" follows the phone
	Scheme string `json:"scheme"` // "auto", "light" or "dark"
}

// lockAction leads to the screen about the phone's PIN, which the worker draws: it must be able to
// without the core.
func (a *App) lockAction() Action {
	if a.browser.PIN {
		return Action{Label: say("lock.action_set"), Route: "/lock", Kind: "quiet"}
	}
	return Action{Label: say("lock.action"), Route: "/lock", Kind: "quiet"}
}

// setPrefs keeps the language and the colour scheme.
func (a *App) setPrefs(*Answer) error {
	var args struct {
		Values map[string]string `json:"values"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	p := prefs{Lang: args.Values["lang"], Scheme: args.Values["scheme"]}
	if p.Scheme != "light" && p.Scheme != "dark" {
		p.Scheme = "auto"
	}
	if p.Lang != "en" && p.Lang != "ar" {
		p.Lang = ""
	}
	a.prefs = p
	a.put("meta", "prefs", p)
	return nil
}

// endSaid takes the line after a command away.
func (a *App) endSaid(*Answer) error {
	a.said = nil
	return nil
}

// device returns this phone's identity; zero before it joined.
func (a *App) device() clock.Device {
	d, err := clock.ParseDevice(a.me.Device)
	if err != nil {
		return 0
	}
	return d
}

// myDoc returns the document that a client's phone is about.
func (a *App) myDoc() (*record.Doc, bool) { return a.docByName(a.me.Doc) }

func (a *App) docByName(name string) (*record.Doc, bool) {
	id, err := record.ParseID(name)
	if err != nil {
		return nil, false
	}
	return a.doc(id)
}
