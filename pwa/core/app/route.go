package app

import (
	"slices"
	"strings"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// The routes: "/" is home, "/new" adds a client, "/p/<record>" is a person and
// "/p/<record>/<screen>" a screen about that person; "/practice/<screen>" is about what
// the practice sets; "/door", "/sync", "/look" and "/join" stand alone.

func personRoute(id record.ID) string { return "/p/" + id.String() }

// routeDoc returns the document that the present route is about; isNew when
// the route names none that this phone holds.
func (a *App) routeDoc() (d *record.Doc, id record.ID, isNew bool) {
	if isPracticeRoute(a.route) && !a.me.isClient() {
		if d, found := a.practiceDoc(); found {
			return d, d.ID(), false
		}
	}
	parts := strings.Split(a.route, "/")
	if len(parts) > 2 && parts[1] == "p" {
		if id, err := record.ParseID(parts[2]); err == nil {
			if d, found := a.doc(id); found {
				return d, id, false
			}
		}
	}
	if a.me.isClient() {
		if d, found := a.myDoc(); found {
			return d, d.ID(), false
		}
	}
	return nil, record.ID{}, true
}

// subject returns the document that the present route is about, and a refusal
// when this phone does not hold it.
func (a *App) subject() (*record.Doc, error) {
	d, _, isNew := a.routeDoc()
	if isNew {
		return nil, refuse("unknown_record", "", say("error.unknown_record"))
	}
	return d, nil
}

// goTo changes the screen.
func (a *App) goTo(*Answer) error {
	var args struct {
		Route string `json:"route"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	if args.Route == "" {
		args.Route = "/"
	}
	if args.Route != a.route {
		delete(a.forms, args.Route)
		a.said, a.invite = nil, nil
	}
	if a.route != args.Route {
		a.route, a.roster = args.Route, nil
		if a.me.hasJoined() && a.route == doorRoute {
			a.askKnocks()
		}
		if a.me.hasJoined() && isRosterRoute(a.route) {
			return a.askRoster(nil)
		}
	}
	return nil
}

// view works out the screen of the present route.
func (a *App) view() View {
	v := a.screen()
	v.Route = a.route
	v.Said = a.said
	if a.said == nil && v.Screen == "list" && a.isOverdue() {
		v.Said = &Said{Text: say("away.kept")}
	}
	v.Prefs = &a.prefs
	if running := a.runningElsewhere(); running != nil && !v.Busy && running.Route != a.route {
		v.Running = running
	} else if !v.Busy {
		v.Running = a.knockLine(v)
	}
	v.fill()
	return v
}

func (a *App) screen() View {
	if !a.me.hasJoined() {
		return a.welcome()
	}
	d, _, isNew := a.routeDoc()
	parts := strings.Split(a.route, "/")
	switch {
	case a.route == "/join" && a.asking != nil:
		return a.askingView()
	case a.route == "/join" && a.joining != nil:
		return a.joinAgain()
	case a.isOverdue() && a.onlyHere() == 0:
		return a.awayScreen()
	case a.route == "/sync":
		return a.syncScreen()
	case a.route == doorRoute && len(a.knockers) > 0:
		return a.doorView(a.head("/"))
	case a.route == "/phones":
		return a.phonesScreen("/")
	case a.route == passkeyRoute:
		return a.passkeyScreen()
	case a.route == "/look":
		return a.prefsForm()
	case a.me.isClient():
		return a.clientScreen(d, parts)
	case isPracticeRoute(a.route):
		return a.practiceScreen(parts)
	case a.route == "/new":
		return a.personForm(nil)
	case isNew:
		return a.people()
	}
	if len(parts) < 4 {
		return a.person(d)
	}
	return a.personScreen(d, parts)
}

func (a *App) personScreen(d *record.Doc, parts []string) View {
	switch parts[3] {
	case "edit":
		return a.personForm(d)
	case "flags":
		return a.flagsForm(d)
	case "clear":
		return a.clearForm(d)
	case "test":
		return a.testScreen(d)
	case "hold":
		if _, isUnderWay := a.tests[d.ID().String()]; isUnderWay {
			return a.testScreen(d)
		}
		if len(parts) > 4 && slices.Contains(sessions.TrunkHolds(), parts[4]) {
			return a.trunkSetup(d, parts[4])
		}
	case "result":
		if len(parts) > 4 {
			return a.result(d, parts[4])
		}
	case "next":
		if len(parts) > 4 {
			return a.decideScreen(d, parts[4])
		}
	case "plan":
		return a.planScreen(d)
	case "capacity":
		return a.capacityScreen(d)
	case "report":
		return a.reportScreen(d)
	case "load":
		return a.loadScreen(d)
	case "phones":
		return a.phonesScreen(personRoute(d.ID()))
	case "sharing":
		return a.sharingScreen(d)
	case "invite":
		return a.inviteScreen(d)
	case "work":
		return a.workScreen(d)
	}
	return a.person(d)
}

func (a *App) clientScreen(d *record.Doc, parts []string) View {
	switch {
	case d == nil:
		return a.waiting()
	case a.route == "/work" || len(parts) > 3 && parts[3] == "work":
		return a.workScreen(d)
	case a.route == "/plan":
		return a.clientPlan(d)
	case a.route == "/log":
		return a.clientLog(d)
	}
	return a.today(d)
}

// runningElsewhere leads back to a hold, test or session that is under way.
func (a *App) runningElsewhere() *Action {
	for _, d := range a.clientDocs() {
		name := d.ID().String()
		if run, found := a.tests[name]; found {
			return a.runningTest(d, run)
		}
		if run, found := a.works[name]; found {
			return a.runningWork(d, run)
		}
	}
	return nil
}

func ptr[T any](v T) *T { return &v }
