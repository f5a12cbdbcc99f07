package app

import (
	"slices"
	"strconv"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

func parseStamp(s string) (clock.Stamp, error) {
	stamp, err := clock.ParseStamp(s)
	if err != nil {
		return stamp, refuse("malformed", "", say("error.malformed"))
	}
	return stamp, nil
}

// openConflicts are the fields that two people set without knowing of each
// other, of records that still count.
func (a *App) openConflicts(d *record.Doc) []record.Conflict {
	var open []record.Conflict
	for _, c := range d.Conflicts() {
		isOurs := c.Field == sessions.FieldNoise // worked out, not recorded by anyone
		if !isOurs && (!c.Record.IsVoided() || c.Field == record.VoidedField) {
			open = append(open, c)
		}
	}
	return open
}

// keepConflict keeps one of the values recorded alongside each other; the
// others stay in the history.
func (a *App) keepConflict(answer *Answer) error {
	var args struct {
		Record string `json:"record"`
		Field  string `json:"field"`
		Stamp  string `json:"stamp"`
	}
	if err := a.args(&args); err != nil {
		return err
	}
	d, _, isNew := a.routeDoc()
	id, err := record.ParseID(args.Record)
	if isNew || err != nil {
		return refuse("unknown_record", "", say("error.unknown_record"))
	}
	if err := a.resolve(d, id, args.Field, args.Stamp); err != nil {
		return err
	}
	a.said = &Said{Text: say("said.kept")}
	answer.Sync = true
	return nil
}

// alsoRecorded are the rows of one record's disputed fields.
func (a *App) alsoRecorded(d *record.Doc, id record.ID) []Row {
	var rows []Row
	for _, c := range a.openConflicts(d) {
		if id == (record.ID{}) || c.Record.ID() == id {
			rows = append(rows, a.conflictRow(d, c))
		}
	}
	return rows
}

// conflictRow shows both values, who recorded them and when, and keeps one
// with a tap.
func (a *App) conflictRow(d *record.Doc, c record.Conflict) Row {
	r := c.Record.Register(c.Field)
	row := Row{Title: conflictTitle(c)}
	heads := append([]record.Operation{r.Winner()}, r.Also()...)
	for i, op := range heads {
		who := sessions.Author{}
		if author, found := sessions.AuthorOf(d, op.Stamp.Device); found {
			who = author
		}
		key := "conflict.also"
		if i == 0 {
			key = "conflict.shown"
		}
		row.Lines = append(row.Lines, say(key, "value", fieldValue(c, op.Value), "who", plain(who.Name),
			"on", day(op.Stamp.WallMS), "at", clockTime(op.Stamp.WallMS)))
		mayKeep := sessions.MayWrite(a.me.Role, c.Record.Kind(), c.Field,
			c.Record.ID().Device == a.device())
		if mayKeep {
			row.Actions = append(row.Actions, Action{
				Label: say("conflict.keep", "value", fieldValue(c, op.Value)), Do: "conflict.keep",
				Args: map[string]any{
					"record": c.Record.ID().String(), "field": c.Field, "stamp": op.Stamp.String(),
				},
			})
		}
	}
	return row
}

func conflictTitle(c record.Conflict) Text {
	of := say("kind." + c.Record.Kind())
	if stepID, found := c.Record.Text("step"); found {
		if step, known := progression.StepByID(stepID); known {
			of = say(step.Name)
		}
	}
	return say("conflict.title", "field", say("field."+c.Field), "of", of)
}

// fieldValue writes a stored value in the unit people read.
func fieldValue(c record.Conflict, v record.Value) Text {
	n, isNumber := v.Int()
	if !isNumber {
		if yes, isTruth := v.Bool(); isTruth {
			return say("truth." + strconv.FormatBool(yes))
		}
		s, _ := v.Text()
		if v == shippedValue && c.Record.Kind() == sessions.KindStep {
			return say("ladders.ours")
		}
		return wordValue(c.Field, s)
	}
	for _, suffix := range []struct {
		end  string
		per  float64
		unit string
	}{{"MM", 1000, "unit.m"}, {"MS", 1000, "unit.s"}, {"G", 1000, "unit.kg"}} {
		if len(c.Field) > len(suffix.end) && c.Field[len(c.Field)-len(suffix.end):] == suffix.end {
			if c.Field == "statureMM" {
				return say("working.value", "value", float64(n)/10, "unit", say("unit.cm"))
			}
			return say("working.value", "value", float64(n)/suffix.per, "unit", say(suffix.unit))
		}
	}
	return say("working.value", "value", n, "unit", say("unit.none"))
}

// wordValue words a stored word of our own; a person's own words stand as they
// are.
func wordValue(field, s string) Text {
	switch {
	case s == "left" || s == "right":
		return say("side." + s)
	case field == "sex" && s == "female":
		return say("person.female")
	case field == "sex" && s == "male":
		return say("person.male")
	case field == "stop" && isStopWord(s):
		return say("stop." + s)
	case field == "step":
		if step, found := progression.StepByID(s); found {
			return say(step.Name)
		}
	}
	return plain(s)
}

func isStopWord(s string) bool {
	return slices.Contains(sessions.Stops(), s) || slices.Contains(sessions.TrunkStops(), s)
}

// void takes a record out of what counts, with a reason; undo of what was just
// logged is the same, and brings its turn back.
func (a *App) void(answer *Answer) error {
	var args struct {
		Record string `json:"record"`
		Undo   bool   `json:"undo"`
		Back   bool   `json:"back"` // bring it back
	}
	if err := a.args(&args); err != nil {
		return err
	}
	d, docID, isNew := a.routeDoc()
	id, err := record.ParseID(args.Record)
	if isNew || err != nil {
		return refuse("unknown_record", "", say("error.unknown_record"))
	}
	why := "taken back"
	if args.Back {
		why = ""
	}
	if err := a.write(d, id, record.VoidedField, record.Text(why)); err != nil {
		return err
	}
	answer.Sync = true
	a.said = &Said{Text: say("said.voided")}
	if args.Back {
		a.said = &Said{Text: say("said.brought_back")}
		return nil
	}
	a.said.Undo = &Action{
		Label: say("action.bring_back"), Do: "void",
		Args: map[string]any{"record": args.Record, "back": true},
	}
	if run, found := a.works[docID.String()]; found && args.Undo && len(run.Logged) > 0 &&
		run.Logged[len(run.Logged)-1] == args.Record {
		run.Logged = run.Logged[:len(run.Logged)-1]
		run.At = turnOfSet(d, id, run)
		run.Phase = sessions.WorkReady
		a.said.Undo = nil
		a.keepWork(run)
	}
	return nil
}

// turnOfSet returns the place of the turn that a set was logged for: turns after
// it may have been left out since.
func turnOfSet(d *record.Doc, id record.ID, run sessions.WorkRun) int {
	set, found := d.Record(id)
	for at := run.At - 1; at >= 0 && found; at-- {
		turn := run.Turns[at]
		item, _ := set.Text("item")
		works, _ := set.Text("working")
		number, _ := set.Int("number")
		if turn.Item == item && string(turn.Working) == works && turn.Number == number {
			return at
		}
	}
	return max(run.At-1, 0)
}
