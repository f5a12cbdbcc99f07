package app

// A practice may want phones emptied that stay away from it for so many days. A phone knows only
// its own clock, and that may be wrong. So an overdue phone first only stops showing what it holds.
// It is emptied when a second witness agrees: the server's time, or a start a day or more later. In
// between, a clock that is set right opens it again.

const dayMS = 86_400_000

// contact is when this phone and the server last met, and what the practice wants done then.
type contact struct {
	AtMS  int64 `json:"atMS"`  // by the server's time; 0: never
	Days  int64 `json:"days"`  // without contact, after which the phone is emptied; 0: it is not
	DueMS int64 `json:"dueMS"` // when a start first found it overdue; 0: it is not
}

// isOverdue reports whether the phone has been away for as long as the practice allows. A clock
// that was set back to before the last contact says nothing.
func (a *App) isOverdue() bool {
	c := a.link.contact
	return c.AtMS > 0 && c.Days > 0 && a.wallMS()-c.AtMS >= c.Days*dayMS
}

// onlyHere counts the entries that only this phone has; a test or session under way is one.
func (a *App) onlyHere() int {
	return a.link.unsent() + a.link.attention() + len(a.tests) + len(a.works)
}

// started looks at how long the phone has been away when it is opened.
func (a *App) started() {
	c := &a.link.contact
	switch {
	case !a.isOverdue():
		c.DueMS = 0
	case a.onlyHere() > 0: // the screens say so
	case c.DueMS == 0:
		c.DueMS = a.wallMS()
	case a.wallMS()-c.DueMS >= dayMS:
		a.emptyAway()
	}
	a.put("meta", "contact", *c)
}

// met takes in that the server answered, and after how many days away it wants phones emptied.
// wasOverdue is what the phone's own clock had said: a jump of the server's clock empties nobody.
func (a *App) met(days int64, wasOverdue, isMore bool) {
	c := &a.link.contact
	c.Days = days
	if !wasOverdue || !a.isOverdue() {
		*c = contact{AtMS: a.wallMS(), Days: days}
	} else if !isMore && a.onlyHere() == 0 {
		a.emptyAway()
		a.ask = &Ask{Path: "/api/forget", Auth: true, Then: "go", Body: map[string]string{}}
	}
	a.put("meta", "contact", *c)
}

// emptyAway empties the phone; what is kept of the last contact has the next screen say why.
func (a *App) emptyAway() {
	days := a.link.contact.Days
	a.empty()
	a.link.contact.Days = days
}

// awayScreen stands in place of all others on an overdue phone on which nothing is unsent.
func (a *App) awayScreen() View {
	return View{
		Screen: "notice", Head: Head{State: a.stateText()}, Lines: []Text{say("away.next")},
		Finding: say("away.finding", "n", a.link.contact.Days),
		Actions: []Action{{Label: say("invite.again"), Do: "sync.state", Kind: "main"}},
	}
}
