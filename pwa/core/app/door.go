package app

import (
	"evenhold/internal/boundary"
	"evenhold/internal/sessions"
)

const (
	askAgainMS = 3_000          // between two asks of a phone that waits to be let in
	patienceMS = 10 * 60 * 1000 // for which it asks
)

// asking is this phone wanting to be let in. It is stored, so that a reload or a lost answer asks
// again in the same words: the server lets in the phone that knocked and no other.
type asking struct {
	_        [0]func()
	Code     string `json:"code"`
	Device   string `json:"device"`
	Name     string `json:"name"`
	Practice string `json:"practice"`
	IsKnown  bool   `json:"isKnown"` // the person has had a phone here before
	IsBack   bool   `json:"isBack"`  // this phone was in, and keeps what it has
	IsHeard  bool   `json:"isHeard"` // the code was right, and a person is asked to tap
	UntilMS  int64  `json:"untilMS"`
	isAway   bool   // the last ask found no server
}

// knock begins to ask to be let in.
func (a *App) knock(k asking) {
	k.UntilMS = a.now.At.WallMS + patienceMS
	a.asking = &k
	a.put("meta", "asking", a.asking)
	a.askIn()
}

func (a *App) askIn() {
	a.ask = &Ask{Path: "/api/join", Then: "join.done", Body: map[string]string{
		"code": a.asking.Code, "device": a.asking.Device, "name": a.asking.Name,
		"practice": a.asking.Practice,
	}}
}

// joinAgainIn asks again, if this phone still wants to be let in.
func (a *App) joinAgainIn(*Answer) error {
	if a.asking != nil {
		a.askIn()
	}
	return nil
}

// stopAsking takes the wish to be let in back.
func (a *App) stopAsking(*Answer) error {
	a.drop("meta", "asking")
	a.asking, a.joining = nil, nil
	return nil
}

// joinDone hears whether this phone is let in, waits, or is not.
func (a *App) joinDone(answer *Answer) error {
	var r reply
	if err := a.args(&r); err != nil {
		return err
	}
	if a.asking == nil {
		return nil
	}
	switch {
	case r.Status == 200:
		return a.letIn(r, a.asking.IsBack, a.asking.IsKnown, answer)
	case r.Status == 202 || r.Status == 0 || r.Status == 429 || r.Status >= 500:
		a.waitOn(r, answer)
	default:
		a.notLetIn(r.trouble(), a.asking.IsBack)
	}
	return nil
}

// waitOn goes on asking until the time is over.
func (a *App) waitOn(r reply, answer *Answer) {
	k := a.asking
	k.isAway = r.Status != 202
	var body struct {
		LeftMS int64 `json:"leftMS"`
	}
	if r.Status == 202 && boundary.Unmarshal(r.Body, &body) == nil && !k.IsHeard {
		k.IsHeard, k.UntilMS = true, a.now.At.WallMS+body.LeftMS
		a.put("meta", "asking", k)
	}
	if a.now.At.WallMS >= k.UntilMS {
		a.notLetIn(say("problem.expired"), k.IsBack)
		return
	}
	answer.Later = &Later{Do: "join.again", MS: max(r.AfterMS, askAgainMS)}
}

// notLetIn says why; a phone that was not in before asks for another code.
func (a *App) notLetIn(trouble Text, isBack bool) {
	a.drop("meta", "asking")
	a.asking, a.joining = nil, nil
	if isBack {
		a.said = &Said{Text: trouble}
	} else {
		a.joining = &joining{trouble: trouble}
	}
}

// letIn makes this phone a person's own; isBack if it was in before and keeps what it has, isKnown
// if the person was.
func (a *App) letIn(r reply, isBack, isKnown bool, answer *Answer) error {
	var body struct {
		Person   listed `json:"person"`
		Practice struct {
			_    [0]func()
			Name string `json:"name"`
			Doc  string `json:"doc"`
		} `json:"practice"`
		Doc    string `json:"doc"`
		Device string `json:"device"`
	}
	if err := boundary.Unmarshal(r.Body, &body); err != nil {
		return refuse("malformed", "", say("error.malformed"))
	}
	if err := a.stopAsking(nil); err != nil {
		return err
	}
	a.route, answer.Sync = "/", true
	if isBack {
		a.link.out = ""
		return nil
	}
	a.me = me{
		Device: body.Device, Person: body.Person.ID, Name: body.Person.Name, Role: body.Person.Role,
		PracticeName: body.Practice.Name, PracticeDoc: body.Practice.Doc, Doc: body.Doc,
	}
	a.put("meta", "me", a.me)
	a.link.start(a.device())
	if a.me.Role == sessions.Owner && !isKnown {
		return a.namePractice(body.Practice.Name)
	}
	return nil
}

// askingView is the screen of a phone that waits to be let in.
func (a *App) askingView() View {
	k := a.asking
	v := View{Screen: "notice", Head: Head{State: say("state.not_joined")}}
	if k.IsBack {
		v.Head = a.head("/")
	}
	v.Finding = say("welcome.looking")
	if k.IsHeard {
		v.Finding = say("wait.finding")
		v.Lines = []Text{say("wait.lead", "at", clockTime(k.UntilMS))}
	}
	if k.isAway {
		v.Lines = append(v.Lines, say("error.offline"))
	}
	v.Actions = []Action{{Label: say("wait.stop"), Do: "join.stop", Kind: "quiet"}}
	return v
}
