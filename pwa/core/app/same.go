package app

import (
	"evenhold/internal/sessions"
	"evenhold/sync/record"
	"evenhold/sync/twin"
)

// pairArgs name two efforts and, where they are said to be one, which counts.
type pairArgs struct {
	_    [0]func()
	A    string `json:"a"`
	B    string `json:"b"`
	Keep string `json:"keep"`
}

// pairAsked reads the pair of a command; both must be held here.
func (a *App) pairAsked() (d *record.Doc, one, two, keep record.ID, err error) {
	var args pairArgs
	if err = a.args(&args); err != nil {
		return
	}
	if d, err = a.subject(); err != nil {
		return
	}
	one, errOne := record.ParseID(args.A)
	two, errTwo := record.ParseID(args.B)
	_, hasOne := d.Record(one)
	_, hasTwo := d.Record(two)
	if errOne != nil || errTwo != nil || !hasOne || !hasTwo || one == two {
		err = refuse("unknown_record", "", say("error.unknown_record"))
		return
	}
	keep, errKeep := record.ParseID(args.Keep)
	if args.Keep != "" && (errKeep != nil || keep != one && keep != two) {
		err = refuse("unknown_record", "", say("error.unknown_record"))
	}
	return
}

// joinSame keeps that two efforts are one, or that they are two. It takes the place of
// what was said of the pair before, by whomever.
func (a *App) joinSame(answer *Answer) error {
	d, one, two, keep, err := a.pairAsked()
	if err != nil {
		return err
	}
	if err := a.takeBackSame(d, one, two); err != nil {
		return err
	}
	a.said = &Said{Text: say("said.apart")}
	values := sessions.ApartValues(one, two, a.now.At.WallMS)
	if !keep.IsZero() {
		values = sessions.SameValues(one, two, keep, a.now.At.WallMS)
		a.said.Text = say("said.joined")
	}
	a.said.Undo = &Action{
		Label: say("action.undo"), Do: "same.undo", Args: pairOf(one, two, record.ID{}),
	}
	answer.Sync = true
	_, err = a.create(d, sessions.KindSame, values)
	return err
}

// undoSame takes back what was said of a pair: both count again and are asked about.
func (a *App) undoSame(answer *Answer) error {
	d, one, two, _, err := a.pairAsked()
	if err != nil {
		return err
	}
	answer.Sync = true
	a.said = &Said{Text: say("said.apart_again")}
	return a.takeBackSame(d, one, two)
}

func (a *App) takeBackSame(d *record.Doc, one, two record.ID) error {
	for _, id := range sessions.AnswersOn(d, one, two) {
		if err := a.write(d, id, record.VoidedField, record.Text("taken back")); err != nil {
			return err
		}
	}
	return nil
}

func pairOf(one, two, keep record.ID) map[string]any {
	args := map[string]any{"a": one.String(), "b": two.String()}
	if !keep.IsZero() {
		args["keep"] = keep.String()
	}
	return args
}

// sameSections ask about efforts that two phones may have logged of one, and list those
// that were joined.
func (a *App) sameSections(d *record.Doc) []Section {
	if !sessions.MayWrite(a.me.Role, sessions.KindSame, "answer", true) {
		return nil
	}
	var all []Section
	said := sessions.Answers(d)
	asked := Section{Title: say("same.section"), Note: say("same.note")}
	for _, p := range sessions.Proposals(d) {
		asked.Rows = append(asked.Rows, a.proposalRow(d, p, said.IsDisputed(p.A, p.B)))
	}
	if len(asked.Rows) > 0 {
		all = append(all, asked)
	}
	joined := Section{Title: say("same.joined_section")}
	for _, j := range sessions.JoinedIn(d) {
		joined.Rows = append(joined.Rows, a.joinedRow(d, j))
	}
	if len(joined.Rows) > 0 {
		all = append(all, joined)
	}
	return all
}

func (a *App) proposalRow(d *record.Doc, p twin.Proposal, isDisputed bool) Row {
	row := Row{
		Title: say("same.title"),
		Lines: []Text{
			say("same.first", a.effortArgs(d, p.A)...), say("same.second", a.effortArgs(d, p.B)...),
			say("same.score", "alike", round(float64(p.Score.Permille)/10),
				"overlap", round(float64(p.Score.OverlapPermille)/10),
				"close", round(float64(p.Score.ClosePermille)/10)),
		},
	}
	if isDisputed {
		row.Lines = append(row.Lines, say("same.disputed"))
	}
	row.Actions = []Action{
		{Label: say("same.keep_first"), Do: "same.join", Args: pairOf(p.A, p.B, p.A)},
		{Label: say("same.keep_second"), Do: "same.join", Args: pairOf(p.A, p.B, p.B)},
		{
			Label: say("same.apart"), Do: "same.join", Kind: "quiet",
			Args: pairOf(p.A, p.B, record.ID{}),
		},
	}
	return row
}

// joinedRow shows all that was logged of one effort, and parts what a person joined.
func (a *App) joinedRow(d *record.Doc, j sessions.Joined) Row {
	row := Row{
		Title: say("same.joined"),
		Lines: []Text{say("same.counts", a.effortArgs(d, j.Counts)...)},
	}
	for i, id := range j.All {
		if id != j.Counts {
			row.Lines = append(row.Lines, say("same.not_counted", a.effortArgs(d, id)...))
		}
		for _, other := range j.All[i+1:] {
			if len(sessions.AnswersOn(d, id, other)) > 0 {
				row.Actions = append(row.Actions, Action{
					Label: say("same.undo"), Do: "same.undo", Args: pairOf(id, other, record.ID{}),
				})
			}
		}
	}
	return row
}

// effortArgs are what was logged of one effort, with both sides, by whom, and when.
func (a *App) effortArgs(d *record.Doc, id record.ID) []any {
	effort, _ := sessions.EffortOf(d, id)
	author, _ := sessions.AuthorOf(d, id.Device)
	what, startedMS := Text(""), int64(0)
	switch {
	case effort.Set != nil:
		what, startedMS = setText(*effort.Set), effort.Set.StartedMS
	case effort.Trial != nil:
		what, startedMS = trialText(*effort.Trial), effort.Trial.StartedMS
	}
	return []any{
		"what", what, "who", plain(author.Name), "on", day(startedMS), "at", clockTime(startedMS),
	}
}
