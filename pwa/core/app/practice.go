package app

import (
	"math"
	"slices"
	"strings"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// practiceRoute is the page of what the practice sets; its parts stand below it.
const practiceRoute = "/practice"

func isPracticeRoute(route string) bool {
	return route == practiceRoute || strings.HasPrefix(route, practiceRoute+"/")
}

// practiceDoc is the practice's own document, empty until it was fetched.
func (a *App) practiceDoc() (*record.Doc, bool) {
	id, err := record.ParseID(a.me.PracticeDoc)
	if err != nil || a.link.phone == nil {
		return nil, false
	}
	return a.link.phone.Open(id), true
}

// practice is what the practice sets for all of its clients.
func (a *App) practice() planning.Practice {
	p := planning.Practice{Noise: a.testNoise().Model}
	if d, found := a.practiceDoc(); found {
		for _, i := range sessions.Implements(d) {
			p.ImplementsG = append(p.ImplementsG, i.WeightG)
		}
		if a.ladders.n != d.Len() {
			a.ladders = ladders{d.Len(), planning.EditionOf(d)}
		}
		p.Edition = a.ladders.edition
	}
	return p
}

// ladders are the practice's own, kept until its document changes.
type ladders struct {
	n       int
	edition progression.Edition
}

// practiceLen counts the operations of the practice's document: what was worked out
// from the practice's settings holds as long as it stays.
func (a *App) practiceLen() int {
	if d, found := a.practiceDoc(); found {
		return d.Len()
	}
	return 0
}

func (a *App) practiceScreen(parts []string) View {
	d, found := a.practiceDoc()
	if found && len(parts) > 2 {
		switch parts[2] {
		case "weights":
			return a.weightsForm(d)
		case "samples":
			return a.samplesForm(d)
		case "noise":
			return a.noiseForm()
		case "rights":
			return a.rightsScreen()
		case "people":
			return a.staffScreen()
		case "ladders":
			if _, step, err := a.stepHere(); err == nil {
				return a.stepScreen(d, step)
			}
			return a.laddersScreen(d)
		}
	}
	v := View{Screen: "list", Head: a.practiceHead("/"), Finding: say("practice.finding")}
	if !found {
		return v
	}
	if also := a.alsoRecorded(d, record.ID{}); len(also) > 0 {
		v.Sections = append(v.Sections, Section{
			Title: say("conflict.section"), Note: say("conflict.note"), Rows: also,
		})
	}
	v.Sections = append(v.Sections, Section{Rows: []Row{
		{
			Title: say("weights.title"), Route: practiceRoute + "/weights",
			Lines: []Text{say("weights.listed", "n", len(sessions.Implements(d)))},
		},
		{
			Title: say("noise.title"), Route: practiceRoute + "/noise",
			Lines: []Text{say("noise.error", "percent",
				round(100*math.Expm1(a.testNoise().Model.TypicalError)))},
		},
		{
			Title: say("samples.title"), Route: practiceRoute + "/samples",
			Lines: []Text{say("samples.listed", "n", len(sessions.Samples(d)))},
		},
		{Title: say("rights.title"), Route: rightsRoute},
		{
			Title: say("ladders.title"), Route: laddersRoute,
			Lines: []Text{editionText(a.practice().Edition.Version())},
		},
	}})
	if a.me.Role == sessions.Owner {
		rows := &v.Sections[len(v.Sections)-1].Rows
		*rows = append([]Row{{Title: say("staff.title"), Route: staffRoute}}, *rows...)
	}
	return v
}

// ownRecord is the practice document on screen with the practice's own record in it.
func (a *App) ownRecord() (*record.Doc, *record.Record, error) {
	d, err := a.subject()
	if err != nil {
		return nil, nil, err
	}
	r, found := sessions.PracticeIn(d)
	if !found {
		return nil, nil, refuse("unknown_record", "", say("error.unknown_record"))
	}
	return d, r, nil
}

func (a *App) practiceHead(back string) Head {
	h := a.head(back)
	h.Title = plain(a.me.PracticeName)
	return h
}

// weightsForm lists the weights at hand, to add to and take from.
func (a *App) weightsForm(d *record.Doc) View {
	v := View{
		Screen: "form", Head: a.practiceHead(practiceRoute), Finding: say("weights.title"),
		Lines: []Text{say("weights.lead")},
	}
	mayWrite := sessions.MayWrite(a.me.Role, sessions.KindImplement, "", true)
	list := Section{Empty: say("weights.none")}
	for _, i := range sessions.Implements(d) {
		row := Row{Title: say("weights.row", "what", implementWord(i.What),
			"kg", float64(i.WeightG)/1000)}
		if mayWrite {
			row.Actions = []Action{{
				Label: say("weights.remove", "kg", float64(i.WeightG)/1000), Do: "void",
				Args: map[string]any{"record": i.ID.String()}, Kind: "quiet",
			}}
		}
		list.Rows = append(list.Rows, row)
	}
	v.Sections = []Section{list}
	if !mayWrite {
		v.Lines = append(v.Lines, say("practice.read_only"))
		return v
	}
	var kinds []Option
	for _, what := range sessions.ImplementKinds() {
		kinds = append(kinds, Option{Value: what, Label: implementWord(what)})
	}
	v.Fields = a.forms[a.route].show([]Field{
		{ID: "what", Kind: "choice", Label: say("weights.what"), Options: kinds,
			Value: sessions.Kettlebell},
		{ID: "weightG", Kind: "number", Label: say("weights.mass"), Unit: say("unit.kg"),
			Hint: say("weights.mass_hint")},
	})
	v.Actions = []Action{{Label: say("weights.add"), Do: "weights.add", Kind: "main", Form: true}}
	return v
}

func implementWord(what string) Text {
	if !slices.Contains(sessions.ImplementKinds(), what) {
		what = sessions.OtherThing // of a later version
	}
	return say("implement." + what)
}

// addWeight lists one more weight.
func (a *App) addWeight(answer *Answer) error {
	d, values, err := a.entered()
	if err != nil {
		return err
	}
	errs := map[string]Text{}
	i := sessions.Implement{
		What:    oneOf(values, "what", errs, sessions.ImplementKinds()...),
		WeightG: number(values, "weightG", progression.ImplementG, errs),
	}
	if i.WeightG == 0 && errs["weightG"] == "" {
		errs["weightG"] = say("error.number")
	}
	if len(errs) > 0 {
		return a.keepForm(values, []string{"what", "weightG"}, errs)
	}
	if _, err := a.create(d, sessions.KindImplement, i.Values()); err != nil {
		return err
	}
	delete(a.forms, a.route)
	a.said = &Said{Text: say("said.weight")}
	answer.Sync = true
	return nil
}
