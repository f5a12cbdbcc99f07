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
	if !mayWrite {
		v.Lines = append(v.Lines, say("practice.read_only"))
	}
	entry := say("ladders.entry_lead")
	if !step.CanHide() {
		entry = say("ladders.stays")
	}
	for part, words := range [][2]Text{
		{say("ladders.start"), doseText(step, a.practice().Item(step.Begin(), 0))},
		{say("ladders.entry"), entry},
		{say("ladders.exit"), say("ladders.exit_lead")},
	} {
		item := PlanItem{Title: words[0], Lines: words[1:]}
		if mayWrite {
			item.Steppers = a.editSteppers(&step, progression.Part(part))
		}
		v.Items = append(v.Items, item)
	}
	if mayWrite {
		v.Items[0].Also = a.alsoRecorded(d, sessions.StepID(step.ID))
		v.Fields = a.forms[a.route].show(cueFields(&step))
		v.Actions = a.stepActions(d, &step)
	}
	return v
}

// editSteppers are those of the numbers of one part; their ends are the bounds.
func (a *App) editSteppers(step *progression.Step, part progression.Part) []Stepper {
	shipped, _ := progression.StepByID(step.ID)
	steppers := stepperList{app: a, do: "ladder.set"}
	for _, n := range progression.Numbers() {
		shown, has := step.Shown(n.Name)
		if !has || n.Part != part {
			continue
		}
		bound, _ := progression.EditBound(&shipped, n.Name)
		s := steppers.add(string(n.Name), say("edit."+string(n.Name)), int64(shown), 1, n.By,
			say("unit."+n.Unit))
		s.Less = max(s.Less, float64(bound.Min/bound.PerShown))
		s.More = min(s.More, float64(bound.Max/bound.PerShown))
	}
	return steppers.all
}

// cueFields ask for own words, with ours beside them.
func cueFields(step *progression.Step) []Field {
	shipped, _ := progression.StepByID(step.ID)
	var fields []Field
	for i, id := range step.EditCues() {
		f := Field{
			ID: id, Kind: "text", Label: say("ladders.cue", "n", i+1), Optional: true,
			Hint: say("ladders.cue_hint", "ours", say(shipped.Cues[i])),
		}
		if words, isOwn := progression.OwnWords(step.Cues[i]); isOwn {
			f.Value = words
		}
		fields = append(fields, f)
	}
	return fields
}

func (a *App) stepActions(d *record.Doc, step *progression.Step) []Action {
	all := []Action{{Label: say("ladders.save_cues"), Do: "ladder.cues", Form: true}}
	add := func(isOffered bool, key, do string, args any) {
		if isOffered {
			all = append(all, Action{Label: say(key), Do: do, Args: args, Kind: "quiet"})
		}
	}
	edition := a.practice().Edition
	_, _, isBehind := edition.Beside(step.ID, true)
	_, _, isAhead := edition.Beside(step.ID, false)
	add(isBehind, "ladders.up", "ladder.move", map[string]any{"up": true})
	add(isAhead, "ladders.down", "ladder.move", map[string]any{"up": false})
	add(step.CanHide() && !step.Hidden, "ladders.hide", "ladder.hide", nil)
	add(step.Hidden, "ladders.unhide", "ladder.hide", nil)
	add(len(changedFields(d, step.ID)) > 0, "ladders.ship", "ladder.ship", nil)
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
