package app

import (
	"slices"
	"time"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/working"
	"evenhold/sync/record"
)

// samplesFor are the samples that a hold is placed in: the published one that fits best,
// and those of the practice for this hold, whatever their sex: see sexLines.
func (a *App) samplesFor(test reference.Test, w sides.Working, sex string) []reference.Sample {
	all := reference.Samples(test, w, sex)
	all = all[:min(len(all), 1)]
	d, found := a.practiceDoc()
	if !found {
		return all
	}
	for _, s := range sessions.Samples(d) {
		if s.What == string(test) {
			all = append(all, enteredSample(s))
		}
	}
	if sessions.UsesOwnSample(d) {
		if s, _, ok := a.ownSample(test, w); ok {
			all = append(all, s)
		}
	}
	return all
}

func enteredSample(s sessions.Sample) reference.Sample {
	return reference.Sample{
		Name: s.Name, Test: reference.Test(s.What), Sex: s.Sex, People: int(s.People),
		Mean:   time.Duration(s.MeanMS) * time.Millisecond,
		SD:     time.Duration(s.SDMS) * time.Millisecond,
		Source: working.Source{Title: s.Name, Status: working.Entered},
	}
}

// ownSample is the practice's own records as a sample, and the median over its clients.
func (a *App) ownSample(test reference.Test, w sides.Working) (
	reference.Sample, time.Duration, bool) {
	a.testNoise() // brings what is kept of each record up to date
	var all []planning.Medians
	for _, d := range a.clientDocs() {
		kept := a.retests[d.ID()]
		if kept.medians == nil {
			kept.medians = planning.MediansOf(d)
			a.retests[d.ID()] = kept
		}
		all = append(all, kept.medians)
	}
	return planning.OwnSample(all, test, w)
}

func sampleName(s reference.Sample) Text {
	if s.Name != "" {
		return plain(s.Name)
	}
	return say("sample." + s.ID)
}

// sampleRows place a hold in each sample that fits; none where none does.
func (a *App) sampleRows(title Text, test reference.Test, w sides.Working, sex string,
	heldMS int64, isBound bool) []Row {
	var rows []Row
	for _, s := range a.samplesFor(test, w, sex) {
		p, err := s.Percentile(time.Duration(heldMS)*time.Millisecond, isBound)
		if err != nil {
			continue
		}
		row := Row{
			Title: title, Lines: []Text{sampleName(s), sampleNumbers(s), say("result.skew")},
			Reason: percentileWord(p, isBound), Working: ptr(workingView(p.Working)),
		}
		row.Lines = append(row.Lines, sexLines(s, sex)...)
		if s.People < reference.FewPeople {
			row.Lines = append(row.Lines, say("caution.small_sample"))
		}
		rows = append(rows, row)
	}
	return rows
}

// sexLines say where a sample is not of the person's own sex alone: of another, or of a person
// whose sex is not noted, or of both together.
func sexLines(s reference.Sample, sex string) []Text {
	switch {
	case s.Sex == "":
		return []Text{say("result.sample_mixed")}
	case s.Sex == sex:
		return nil
	case s.Sex == "female":
		return []Text{say("result.sample_women")}
	}
	return []Text{say("result.sample_men")}
}

func sampleNumbers(s reference.Sample) Text {
	return say("result.sample_numbers", "mean", figures(s.Mean.Seconds()),
		"sd", figures(s.SD.Seconds()),
		"n", s.People, "status", say("status."+string(s.Source.Status)))
}

func percentileWord(p reference.Percentile, isBound bool) Text {
	if isBound {
		return say("result.sample_at_least", "p", round(p.Percent))
	}
	return say("result.sample_place", "p", round(p.Percent))
}

var measured = []struct {
	test reference.Test
	side sides.Working
}{
	{reference.SideBridge, sides.WorksLeft}, {reference.SideBridge, sides.WorksRight},
	{reference.Extensor, ""}, {reference.Flexor, ""},
}

// samplesForm lists the practice's samples, to add to and take from.
func (a *App) samplesForm(d *record.Doc) View {
	v := View{
		Screen: "form", Head: a.practiceHead(practiceRoute), Finding: say("samples.title"),
		Lines: []Text{say("samples.lead")},
	}
	mayWrite := sessions.MayWrite(a.me.Role, sessions.KindSample, "", true)
	v.Sections = []Section{
		{Rows: sampleList(d, mayWrite), Empty: say("samples.none")}, a.ownSection(d),
	}
	if !mayWrite {
		v.Lines = append(v.Lines, say("practice.read_only"))
		return v
	}
	seconds := func(id string, label Text) Field {
		return Field{ID: id, Kind: "number", Label: label, Unit: say("unit.s")}
	}
	v.Fields = a.forms[a.route].show([]Field{
		{ID: "name", Kind: "text", Label: say("samples.who"), Hint: say("samples.who_hint")},
		{ID: "what", Kind: "choice", Label: say("samples.what"), Options: heldOptions(),
			Value: string(reference.SideBridge)},
		{ID: "sex", Kind: "choice", Label: say("samples.sex"), Optional: true, Options: []Option{
			{Value: "female", Label: sexOf("female")},
			{Value: "male", Label: sexOf("male")},
			{Value: "", Label: sexOf("")},
		}},
		{ID: "people", Kind: "number", Label: say("samples.people"),
			Hint: say("samples.people_hint")},
		seconds("meanMS", say("samples.mean")), seconds("sdMS", say("samples.sd")),
	})
	use := Action{Label: say("samples.use_own"), Do: "samples.own", Args: map[string]any{"use": true}}
	if sessions.UsesOwnSample(d) {
		use.Label, use.Args = say("samples.drop_own"), map[string]any{"use": false}
	}
	v.Actions = []Action{
		{Label: say("samples.add"), Do: "samples.add", Kind: "main", Form: true}, use,
	}
	return v
}

// sexOf says whom a sample is of.
func sexOf(sex string) Text {
	switch sex {
	case "female":
		return say("samples.women")
	case "male":
		return say("samples.men")
	}
	return say("samples.mixed")
}

func heldOptions() []Option {
	var all []Option
	for _, test := range []reference.Test{
		reference.SideBridge, reference.Extensor, reference.Flexor,
	} {
		all = append(all, Option{Value: string(test), Label: say("samples." + string(test))})
	}
	return all
}

func isHeld(what string) bool {
	return slices.ContainsFunc(heldOptions(), func(o Option) bool { return o.Value == what })
}

func sampleList(d *record.Doc, mayWrite bool) []Row {
	var rows []Row
	for _, s := range sessions.Samples(d) {
		if !isHeld(s.What) {
			continue // of a later version
		}
		row := Row{Title: plain(s.Name), Lines: []Text{
			say("samples." + s.What), sexOf(s.Sex), sampleNumbers(enteredSample(s)),
		}}
		if s.People < reference.FewPeople {
			row.Lines = append(row.Lines, say("caution.small_sample"))
		}
		if mayWrite {
			row.Actions = []Action{{
				Label: say("samples.remove"), Do: "void", Kind: "quiet",
				Args: map[string]any{"record": s.ID.String()},
			}}
		}
		rows = append(rows, row)
	}
	return rows
}

// ownSection tells what the practice's own records give as a sample.
func (a *App) ownSection(d *record.Doc) Section {
	section := Section{Title: say("sample.own"), Note: say("samples.own_off")}
	if sessions.UsesOwnSample(d) {
		section.Note = say("samples.own_on")
	}
	for _, m := range measured {
		row := Row{Title: say("samples." + string(m.test)), Lines: []Text{say("samples.too_few")}}
		if m.side != "" {
			row.Title = say("samples.side_" + string(m.side))
		}
		if s, median, ok := a.ownSample(m.test, m.side); ok {
			row.Lines = []Text{
				sampleNumbers(s), say("samples.median", "s", figures(median.Seconds())),
			}
			row.Working = ownWorking(s)
			if s.People < reference.FewPeople {
				row.Lines = append(row.Lines, say("caution.small_sample"))
			}
		}
		section.Rows = append(section.Rows, row)
	}
	return section
}

func ownWorking(s reference.Sample) *WorkingView {
	return &WorkingView{
		Title: say("sample.own"),
		Inputs: []WorkingInput{{
			Label: say("input.sample_people"), Value: quantity(float64(s.People), "1"),
		}},
		Steps: []WorkingStep{
			{
				Label: say("input.sample_mean"), Formula: "Σ median / n",
				Value: quantity(s.Mean.Seconds(), "s"),
			},
			{
				Label: say("input.sample_sd"), Formula: "√(Σ(median − mean)² / (n − 1))",
				Value: quantity(s.SD.Seconds(), "s"),
			},
		},
		Sources:  sourceViews([]working.Source{s.Source}),
		Cautions: []Text{say("caution.right_skew"), say("samples.own_bounds")},
	}
}

// addSample keeps the summary of one more group of people.
func (a *App) addSample(answer *Answer) error {
	d, values, err := a.entered()
	if err != nil {
		return err
	}
	errs := map[string]Text{}
	s := sessions.Sample{
		Name: line(values, "name", errs), Sex: oneOf(values, "sex", errs, "", "female", "male"),
		What: oneOf(values, "what", errs, string(reference.SideBridge), string(reference.Extensor),
			string(reference.Flexor)),
		People: number(values, "people", progression.People, errs),
		MeanMS: number(values, "meanMS", progression.HoldMS, errs),
		SDMS:   number(values, "sdMS", progression.HoldMS, errs),
	}
	order := []string{"name", "what", "sex", "people", "meanMS", "sdMS"}
	for id, n := range map[string]int64{"people": s.People, "meanMS": s.MeanMS, "sdMS": s.SDMS} {
		if n == 0 && errs[id] == "" {
			errs[id] = say("error.number")
		}
	}
	if s.Name == "" && errs["name"] == "" {
		errs["name"] = say("error.sample_name")
	}
	if len(errs) > 0 {
		return a.keepForm(values, order, errs)
	}
	if _, err := a.create(d, sessions.KindSample, s.Values()); err != nil {
		return err
	}
	delete(a.forms, a.route)
	a.said = &Said{Text: say("said.sample")}
	answer.Sync = true
	return nil
}

// useOwnSample takes the practice's own records up as a sample, or leaves them.
func (a *App) useOwnSample(answer *Answer) error {
	var args struct {
		Use bool `json:"use"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	d, r, err := a.ownRecord()
	if err != nil {
		return err
	}
	answer.Sync = true
	return a.write(d, r.ID(), sessions.FieldOwnSample, record.Bool(args.Use))
}
