package app

import (
	"math"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/symmetry"
	"evenhold/internal/working"
	"evenhold/sync/record"
)

// retests are one record's repeated tests, kept until the record changes, and the medians
// of its holds once they were asked for.
type retests struct {
	n       int
	all     []symmetry.Retest
	medians planning.Medians
}

// testNoise is the test noise that this phone goes by: what the practice set, or else the
// published one drawn towards what repeated tests of all the records on this phone show. A
// client's phone, which holds one record, goes by what the coach's phone kept with it.
func (a *App) testNoise() symmetry.Noise {
	var all []symmetry.Retest
	isNew := a.noise.Model.Level == 0
	for _, d := range a.docs() {
		kept, found := a.retests[d.ID()]
		if !found || kept.n != d.Len() {
			kept = retests{n: d.Len(), all: planning.Retests(d)}
			a.retests[d.ID()] = kept
			isNew = true
		}
		all = append(all, kept.all...)
	}
	if isNew {
		was := a.noise.Model.TrialSD
		a.noise = symmetry.NoiseOf(all, symmetry.DefaultModel())
		a.ownError = a.noise.Model.TypicalError
		a.settleNoise()
		if a.noise.Model.TrialSD != was {
			a.cache = map[record.ID]summary{} // every finding leans on the noise
		}
	}
	return a.noise
}

// settleNoise puts what was set, or kept, in the place of what the records lead to.
func (a *App) settleNoise() {
	if set := a.noiseSetting(); set.PM > 0 {
		a.noise = a.noise.SetTo(float64(set.PM)/10,
			working.Source{Title: set.From, Status: working.Entered})
		return
	}
	d, found := a.myDoc()
	if !found || !a.me.isClient() {
		return
	}
	for _, t := range sessions.Tests(d) {
		if m, isKept := planning.KeptNoise(t.Noise); isKept {
			a.noise = symmetry.NoiseOf(nil, m)
		}
	}
}

func (a *App) noiseSetting() sessions.NoiseSetting {
	if d, found := a.practiceDoc(); found {
		return sessions.NoiseOf(d)
	}
	return sessions.NoiseSetting{}
}

// keepNoise keeps the noise gone by with a test, for the phone of its client.
func (a *App) keepNoise(d *record.Doc, test record.ID) error {
	return a.write(d, test, sessions.FieldNoise, record.Text(planning.NoiseText(a.testNoise().Model)))
}

// saveNoise sets the test noise by hand.
func (a *App) saveNoise(answer *Answer) error {
	values, err := a.values()
	if err != nil {
		return err
	}
	errs := map[string]Text{}
	set := sessions.NoiseSetting{
		PM:   number(values, "percent", progression.NoisePM, errs),
		From: line(values, "from", errs),
	}
	if set.PM == 0 && errs["percent"] == "" {
		errs["percent"] = say("error.number")
	}
	if set.From == "" && errs["from"] == "" {
		errs["from"] = say("error.noise_from")
	}
	if len(errs) > 0 {
		return a.keepForm(values, []string{"percent", "from"}, errs)
	}
	return a.setNoise(answer, set)
}

// autoNoise goes back to what the practice's own records lead to.
func (a *App) autoNoise(answer *Answer) error {
	return a.setNoise(answer, sessions.NoiseSetting{})
}

// setNoise writes the setting, and the noise now gone by with the latest test of each
// record, where the clients' phones find it.
func (a *App) setNoise(answer *Answer, set sessions.NoiseSetting) error {
	d, r, err := a.ownRecord()
	if err != nil {
		return err
	}
	if err := a.write(d, r.ID(), sessions.FieldNoisePM, record.Int(set.PM)); err != nil {
		return err
	}
	if err := a.write(d, r.ID(), sessions.FieldNoiseFrom, record.Text(set.From)); err != nil {
		return err
	}
	for _, client := range a.clientDocs() {
		if tests := sessions.Tests(client); len(tests) > 0 {
			if err := a.keepNoise(client, tests[len(tests)-1].ID); err != nil {
				return err
			}
		}
	}
	delete(a.forms, a.route)
	a.said = &Said{Text: say("said.noise")}
	answer.Sync = true
	return nil
}

// noiseForm shows the test noise, and lets the practice set it.
func (a *App) noiseForm() View {
	set := a.noiseSetting()
	v := View{
		Screen: "form", Head: a.practiceHead(practiceRoute), Finding: say("noise.title"),
		Lines: []Text{say("noise.lead")}, Sections: []Section{{Rows: a.noiseRows()}},
	}
	if !sessions.MayWrite(a.me.Role, sessions.KindPractice, sessions.FieldNoisePM, true) {
		v.Lines = append(v.Lines, say("practice.read_only"))
		return v
	}
	v.Fields = a.forms[a.route].show([]Field{
		{
			ID: "percent", Kind: "number", Label: say("noise.percent"), Unit: say("unit.percent"),
			Value: shown(set.PM, 10), Hint: say("noise.percent_hint"),
		},
		{
			ID: "from", Kind: "text", Label: say("noise.from"), Value: set.From,
			Hint: say("noise.from_hint"),
		},
	})
	v.Actions = []Action{{Label: say("noise.save"), Do: "noise.save", Kind: "main", Form: true}}
	if set.PM > 0 {
		v.Actions = append(v.Actions, Action{Label: say("noise.auto"), Do: "noise.auto"})
	}
	return v
}

// noiseRows tell the test noise that everything is judged by.
func (a *App) noiseRows() []Row {
	n := a.testNoise()
	row := Row{
		Title: say("noise.error", "percent", round(100*math.Expm1(n.Model.TypicalError))),
		Lines: []Text{
			say("noise.mdc", "longer", round(100*math.Expm1(n.MDC95)),
				"shorter", round(-100*math.Expm1(-n.MDC95))),
			say("noise.pairs", "n", n.Pairs),
		},
		Working: ptr(workingView(n.Working)),
	}
	switch set := a.noiseSetting(); {
	case set.PM > 0:
		row.Lines = append(row.Lines, say("noise.is_set", "from", plain(set.From)),
			say("noise.own", "percent", round(100*math.Expm1(a.ownError))))
	case !n.HasOwn:
		row.Lines = append(row.Lines, say("noise.published"))
	}
	if n.HasICC {
		row.Lines = append(row.Lines, say("noise.icc", "icc", figures(n.ICC), "sem",
			round(100*math.Expm1(n.SEM))))
	}
	return []Row{row}
}
