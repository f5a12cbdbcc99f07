package app

import (
	"strings"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// laddersScreen lists the steps of the ladders in the practice's order.
func (a *App) laddersScreen(d *record.Doc) View {
	p := a.practice()
	v := View{
		Screen: "list", Head: a.practiceHead(practiceRoute), Finding: say("ladders.title"),
		Sections: []Section{{Note: say("ladders.lead"), Empty: editionText(p.Edition.Version())}},
	}
	for _, ladder := range p.Edition.Ladders() {
		s := Section{Title: familyName(ladder.Family)}
		for _, step := range ladder.Steps {
			row := Row{Title: say(step.Name), Route: laddersRoute + "/" + step.ID, Lines: []Text{
				doseText(step, p.Item(step.Begin(), 0)),
			}}
			switch {
			case step.Hidden:
				row.Reason = say("ladders.hidden")
			case len(changedFields(d, step.ID)) > 0:
				row.Reason = say("ladders.changed")
			}
			s.Rows = append(s.Rows, row)
		}
		v.Sections = append(v.Sections, s)
	}
	return v
}

func familyName(f progression.Family) Text { return say("ladders.family_" + string(f)) }

// stepScreen shows one step with the numbers, cues and place that a practice can set.
func (a *App) stepScreen(d *record.Doc, step progression.Step) View {
	v := View{Screen: "plan", Head: a.practiceHead(laddersRoute), Finding: say(step.Name)}
	v.Lines = append([]Text{say(step.Setup)}, cautions(step)...)
	mayWrite := sessions.MayWrite(a.me.Role, sessions.KindStep, "", true)
	v.Items = []PlanItem{
		{
			Title:    say("ladders.start"),
			Lines:    []Text{doseText(step, a.practice().Item(step.Begin(), 0))},
			Steppers: a.editSteppers(step, startNumbers),
			Also:     a.alsoRecorded(d, sessions.StepID(step.ID)),
		},
		{Title: say("ladders.entry"), Lines: []Text{say("ladders.entry_lead")},
			Steppers: a.editSteppers(step, entryNumbers)},
		{Title: say("ladders.exit"), Lines: []Text{say("ladders.exit_lead")},
			Steppers: a.editSteppers(step, exitNumbers)},
	}
	if len(step.Entry) == 0 {
		v.Items[1].Lines = []Text{say("ladders.stays")}
	}
	if !mayWrite {
		v.Lines = append(v.Lines, say("practice.read_only"))
		for i := range v.Items {
			v.Items[i].Steppers, v.Items[i].Also = nil, nil
		}
		return v
	}
	v.Fields = a.forms[a.route].show(cueFields(step))
	v.Actions = a.stepActions(d, step)
	return v
}

// The numbers of a step, by where they stand on its page.
var (
	startNumbers = []progression.Editable{
		progression.EditSets, progression.EditReps, progression.EditHold, progression.EditTime,
		progression.EditRestRep, progression.EditRestSet,
	}
	entryNumbers = []progression.Editable{
		progression.EntryLegs, progression.EntryKnees, progression.EntryFeet,
	}
	exitNumbers = []progression.Editable{
		progression.ExitReps, progression.ExitTime, progression.ExitDistance,
		progression.ExitSessions, progression.ExitEffort, progression.ExitPain,
	}
)

// editSteppers are those of the numbers that the step has; their ends are the bounds.
func (a *App) editSteppers(step progression.Step, numbers []progression.Editable) []Stepper {
	shipped, _ := progression.StepByID(step.ID)
	var all []Stepper
	for _, f := range numbers {
		n, has := step.Value(f)
		if !has {
			continue
		}
		bound, _ := progression.EditBound(shipped, f)
		per := float64(bound.PerShown)
		s := a.stepper("ladder.set", 0, string(f), say("edit."+string(f)), float64(n)/per,
			editBy(f), editUnit(f, bound))
		s.Less = max(s.Less, float64(bound.Min)/per)
		s.More = min(s.More, float64(bound.Max)/per)
		all = append(all, s)
	}
	return all
}

// editBy is how far one touch goes.
func editBy(f progression.Editable) float64 {
	switch f {
	case progression.EditRestSet:
		return 15
	case progression.EditTime, progression.EntryLegs, progression.EntryKnees,
		progression.EntryFeet, progression.ExitTime, progression.ExitDistance:
		return 5
	}
	return 1
}

func editUnit(f progression.Editable, bound progression.Bound) Text {
	switch {
	case bound.Shown == "s":
		return say("unit.s")
	case bound.Shown == "m":
		return say("unit.m")
	case f == progression.EditSets:
		return say("unit.sets")
	case f == progression.EditReps || f == progression.ExitReps:
		return say("unit.reps")
	}
	return say("unit.none")
}

// cueFields ask for own words, with ours beside them.
func cueFields(step progression.Step) []Field {
	shipped, _ := progression.StepByID(step.ID)
	fields := make([]Field, len(step.Cues))
	for i, cue := range step.Cues {
		words, _ := progression.OwnWords(cue)
		fields[i] = Field{
			ID: sessions.FieldsCues()[i], Kind: "text", Label: say("ladders.cue", "n", i+1),
			Hint: say("ladders.cue_hint", "ours", say(shipped.Cues[i])), Optional: true,
		}
		if words != cue {
			fields[i].Value = words
		}
	}
	return fields
}

func (a *App) stepActions(d *record.Doc, step progression.Step) []Action {
	all := []Action{{Label: say("ladders.save_cues"), Do: "ladder.cues", Kind: "main", Form: true}}
	edition := a.practice().Edition
	move := func(up bool, label Text) {
		if _, _, further := edition.Beside(step.ID, up); further {
			all = append(all, Action{
				Label: label, Do: "ladder.move", Args: map[string]any{"up": up}, Kind: "quiet",
			})
		}
	}
	move(true, say("ladders.up"))
	move(false, say("ladders.down"))
	if step.CanHide() {
		key := "ladders.hide"
		if step.Hidden {
			key = "ladders.unhide"
		}
		all = append(all, Action{Label: say(key), Do: "ladder.hide", Kind: "quiet"})
	}
	if len(changedFields(d, step.ID)) > 0 {
		all = append(all, Action{Label: say("ladders.ship"), Do: "ladder.ship", Kind: "quiet"})
	}
	return all
}

// editionText says which state of the ladders a version names.
func editionText(version string) Text {
	if _, mark, isOwn := strings.Cut(version, "-"); isOwn {
		return say("ladders.own", "mark", plain(mark))
	}
	return say("ladders.as_shipped")
}

// earlier says by which states of the ladders something was made; nothing where they are
// the present one, or were not said. A client's phone does not know the present one.
func (a *App) earlier(versions string) []Text {
	if versions == "" || versions == a.practice().Edition.Version() || a.me.isClient() {
		return nil
	}
	var which []Text
	for version := range strings.SplitSeq(versions, ",") {
		which = append(which, editionText(version))
	}
	return []Text{say("ladders.since", "which", which)}
}

// cueText is a cue: a practice's own words, or ours by key.
func cueText(key string, args map[string]float64) Text {
	if words, isOwn := progression.OwnWords(key); isOwn {
		return plain(words)
	}
	return sayNumbers(key, args)
}
