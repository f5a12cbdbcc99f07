package app

// lateDays is from when on it is said that entries wait to be sent. A browser may throw away what
// a site stored that nobody opened for seven days (WebKit, "Updates to Storage Policy", 2023):
// three leave time to do something, and a weekend without a connection is not told of.
const lateDays = 3

// browser is what this phone's browser says of its storage; what it does not say is absent.
type browser struct {
	Secure bool  `json:"secure"` // what is stored is encrypted
	PIN    bool  `json:"pin"`    // and only a PIN opens it
	Kept   *bool `json:"kept"`   // it stays when space runs short
	UsedB  int64 `json:"usedB"`
	RoomB  int64 `json:"roomB"`
	// Passkeys says that the phone has some to offer, at this address.
	Passkeys bool `json:"passkeys"`
}

// toldKeep hears what the browser said when it was asked to keep what is stored. It asks the person
// in some cases, and in others says no by itself.
func (a *App) toldKeep(*Answer) error {
	if err := a.args(&a.browser); err != nil {
		return err
	}
	if a.route == "/sync" && !a.browser.isKept() {
		a.said = &Said{Text: say("keep.refused")}
	}
	return nil
}

func (b *browser) isKept() bool { return b.Kept != nil && *b.Kept }

// keeping says whether what is stored here stays, and how much room there is.
func (b *browser) keeping() Section {
	const megabyte = 1_000_000
	row := Row{Lines: []Text{say("keep.yes")}}
	switch {
	case b.Kept == nil:
		row.Lines[0] = say("keep.unknown")
	case !*b.Kept:
		row.Lines[0] = say("keep.no")
		row.Actions = []Action{{Label: say("keep.ask"), Do: "browser.keep"}}
	}
	if b.RoomB > 0 {
		row.Lines = append(row.Lines, say("keep.room",
			"used", max(b.UsedB/megabyte, 1), "room", b.RoomB/megabyte))
	}
	return Section{Title: say("keep.title"), Rows: []Row{row}}
}

// daysUnsent is for how many whole days the oldest entry that was not sent has waited.
func (a *App) daysUnsent() int64 {
	if a.link.unsent() == 0 {
		return 0
	}
	return (a.wallMS() - a.link.phone.UnsentSinceMS()) / 86_400_000
}
