package app

import (
	"slices"
	"strconv"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// planScreen shows the suggestion to accept or change, or the plan in force.
func (a *App) planScreen(d *record.Doc) View {
	v := View{Screen: "plan", Head: a.headOf(d, say("plan.where"))}
	v.Head.Back = personRoute(d.ID())
	s, test := planning.First(d, a.practice())
	if plan, inForce := planInForce(d, test); inForce {
		v.Finding = say("plan.finding_now", "since", day(plan.AcceptedMS))
		v.Lines = []Text{say("plan.lead_now"), say("plan.lead_pins")}
		a.planItems(&v, d, plan.Items, "item.set")
		a.planCourse(&v, d, plan.Items)
		a.planEnds(&v, d, plan.Items, planning.BandFor(s))
		v.Care = a.flagCare(d)
		return v
	}
	if s.Refusal != "" {
		v.Finding = say("plan.withheld")
		v.Care = a.flagCare(d)
		if v.Care == nil {
			v.Care = &Care{Title: ruleText(s.Rules[0]), Lines: []Text{say(s.Refusal)}}
			if s.Ask != "" {
				v.Care.Lines = append(v.Care.Lines, say(s.Ask))
			}
		}
		return v
	}
	dr := a.draftOf(d, s, test)
	v.Finding = say("plan.finding")
	v.Lines = []Text{say("plan.lead"), say("plan.lead_pins")}
	for _, r := range s.Rules {
		v.Lines = append(v.Lines, ruleText(r))
	}
	a.planItems(&v, d, dr.Items, "plan.set")
	a.planCourse(&v, d, dr.Items)
	a.suggested(&v, d, s, dr)
	a.planEnds(&v, d, dr.Items, planning.BandFor(s))
	v.Fields = a.forms[a.route].show([]Field{{
		ID: "reason", Kind: "text", Label: say("plan.reason"), Optional: true,
		Hint: say("plan.reason_hint"),
	}})
	v.Actions = []Action{
		{Label: say("plan.capacity"), Route: personRoute(d.ID()) + "/capacity", Kind: "quiet"},
		{Label: say("plan.accept"), Do: "plan.accept", Kind: "main", Form: true},
		{Label: say("plan.decline"), Do: "plan.decline", Form: true},
	}
	return v
}

// suggested adds to the items of a draft why they were chosen, and what can be done
// with them.
func (a *App) suggested(v *View, d *record.Doc, s progression.Suggestion, dr draft) {
	fitted := a.prescribe(d, s)
	for i := range v.Items {
		for _, it := range s.Items {
			if it.StepID == dr.Items[i].Step {
				for _, r := range it.Rules {
					v.Items[i].Why = append(v.Items[i].Why, ruleText(r))
				}
				if it.Working.Key != "" {
					v.Working = ptr(workingView(it.Working))
				}
			}
		}
		for at, suggested := range fitted.Items {
			if suggested.Step == dr.Items[i].Step {
				v.Items[i].Why = append(v.Items[i].Why, carryLines(fitted, at)...)
				if none := tooHeavy(fitted, at, a.practice().ImplementsG); none != "" {
					v.Items[i].Lines = append(v.Items[i].Lines, none)
				}
			}
		}
		v.Items[i].Actions = []Action{{
			Label: say("plan.remove"), Do: "plan.remove", Args: map[string]any{"item": i},
			Kind: "quiet",
		}}
	}
}

// planInForce returns the plan that a client follows, and false when there is
// none or a later test asks for a new one.
func planInForce(d *record.Doc, latest sessions.Test) (sessions.Plan, bool) {
	plan, found := sessions.CurrentPlan(d)
	isOutdated := !latest.Is(plan.Test) && latest.ID != (record.ID{}) &&
		latest.StartedMS > plan.AcceptedMS
	return plan, found && !isOutdated
}

// ruleText words a rule that fired, with its numbers.
func ruleText(r progression.Fired) Text { return sayNumbers(r.Key, r.Numbers) }

func (a *App) planItems(v *View, d *record.Doc, items []sessions.Item, do string) {
	for i, item := range items {
		step, _ := progression.StepByID(item.Step)
		p := PlanItem{Title: nameOf(step), Lines: itemLines(step, item)[:1]}
		if item.Waits {
			p.Lines = []Text{say("decide.waits_lead")}
			v.Items = append(v.Items, p)
			continue
		}
		if step.Setup != "" {
			p.Lines = append(p.Lines, say(step.Setup))
		}
		p.Lines = append(p.Lines, a.earlier(item.Ladder)...)
		for _, s := range a.steppers(do, i, step, item) {
			if !a.mayChange(do, s.ID) {
				continue
			}
			if a.mayChange(do, planning.PinSets+"/0") {
				s.Pin = pinAction(item, s, do)
			}
			p.Steppers = append(p.Steppers, s)
		}
		for _, c := range step.Cautions {
			p.Why = append(p.Why, say(c))
		}
		if item.ID != (record.ID{}) {
			p.Also = a.alsoRecorded(d, item.ID)
		}
		v.Items = append(v.Items, p)
	}
}

// mayChange reports whether this person may change the field of a stepper.
func (a *App) mayChange(do, id string) bool {
	if do == "plan.set" {
		return true
	}
	field := id[:len(id)-len("/0")]
	return sessions.MayWrite(a.me.Role, sessions.KindItem, change{Field: field}.storedField(), false)
}

// pinAction says whether a number stays or follows the others, and makes it the other way.
func pinAction(item sessions.Item, s Stepper, do string) *Action {
	args := s.Args.(map[string]any)
	field := args["field"].(string)
	isPinned := planning.HasPin(item, field)
	pin := Action{
		Label: say("plan.follows"), Do: pinDo[do],
		Args: map[string]any{"item": args["item"], "field": field, "pin": !isPinned},
	}
	if isPinned {
		pin.Label = say("plan.stays")
	}
	return &pin
}

// pinDo is the command that pins, by the one that changes.
var pinDo = map[string]string{"plan.set": "plan.pin", "item.set": "item.pin"}

// doseText is a dose in one line.
func doseText(step progression.Step, item sessions.Item) Text {
	sets := make([]Text, len(item.Reps))
	for i, n := range item.Reps {
		sets[i] = plain(strconv.FormatInt(n, 10))
	}
	key := "dose.hold"
	switch {
	case step.Side == progression.ByHand && step.Kind == progression.ByLift:
		key = "dose.lift"
	case step.Side == progression.ByHand && item.DistanceMM > 0:
		key = "dose.carry_distance"
	case step.Side == progression.ByHand:
		key = "dose.carry_time"
	}
	if item.ExtraSets > 0 {
		key += "_extra"
	}
	return say(key, "reps", sets, "sets", len(item.Reps), "hold", item.HoldMS/1000,
		"metres", item.DistanceMM/1000, "seconds", item.TimeMS/1000, "extra", item.ExtraSets,
		"weaker", sideWord(item.Weaker))
}

// stepperList gathers the numbers of one exercise; do is the command that changes one.
type stepperList struct {
	app *App
	do  string
	at  int // of the exercise
	all []Stepper
}

// mayBeNone are the numbers of which there may be none; − ends at its own width for all others.
var mayBeNone = []string{"restRepMS", "restSetMS", "extraSets"}

// add puts a number with − and + behind the others: stored in per parts of what is shown, and
// changed by so much of it. One that was refused says why.
func (l *stepperList) add(field string, label Text, stored int64, per, by int, unit Text) *Stepper {
	id := field + "/" + strconv.Itoa(l.at)
	value := float64(stored) / float64(per)
	least := min(float64(by), value)
	isLoad := quantityOf[field] == progression.LoadG
	if slices.Contains(mayBeNone, field) || isLoad && l.do != "work.set" {
		least = 0 // a plan may be without a weight; it is not led then
	}
	l.all = append(l.all, Stepper{
		ID: id, Label: label, Value: value, Unit: unit,
		Less: max(value-float64(by), least), More: value + float64(by),
		Do: l.do, Args: map[string]any{"item": l.at, "field": field},
		Error: l.app.forms[l.app.route].errors[id],
	})
	return &l.all[len(l.all)-1]
}

// steppers are the numbers of an item that a person can change.
func (a *App) steppers(do string, at int, step progression.Step, item sessions.Item) []Stepper {
	l := stepperList{app: a, do: do, at: at}
	l.add("sets", say("plan.sets"), int64(len(item.Reps)), 1, 1, say("unit.sets"))
	isDown := step.Side == progression.ByDown
	if isDown || step.Kind == progression.ByLift {
		l.add("reps", say("plan.reps"), first(item.Reps), 1, 1, say("unit.reps"))
	}
	if isDown {
		l.add("holdMS", say("plan.hold"), item.HoldMS, 1000, 1, say("unit.s"))
		l.add("restRepMS", say("plan.rest_rep"), item.RestRepMS, 1000, 1, say("unit.s"))
	} else {
		l.addLoads(step, item, bothSides[:]...)
	}
	l.add("restSetMS", say("plan.rest"), item.RestSetMS, 1000, 15, say("unit.s"))
	if item.Weaker != "" {
		extra := l.add("extraSets", say("plan.extra"), item.ExtraSets, 1, 1, say("unit.sets"))
		extra.Notes = placement(step, item.Weaker)
	}
	return l.all
}

// addLoads adds the weight of some working sides, and how far or how long it is carried.
func (l *stepperList) addLoads(step progression.Step, item sessions.Item,
	works ...sides.Working) {
	for _, w := range works {
		load := l.add(loadField(w), say("plan.load"), item.LoadG[w], 1000, 1, say("unit.kg"))
		load.Side, load.Notes = string(w), placement(step, w)
		load.throughListed(l.app.practice().ImplementsG)
	}
	if item.DistanceMM > 0 {
		l.add("distanceMM", say("plan.distance"), item.DistanceMM, 1000, 5, say("unit.m"))
	}
	if item.TimeMS > 0 {
		l.add("timeMS", say("plan.time"), item.TimeMS, 1000, 5, say("unit.s"))
	}
}

// throughListed has − and + go to the next weight that the practice has listed, in grams; at the
// lightest and the heaviest they end. Without a list, as on a client's phone, they stay.
func (s *Stepper) throughListed(listedG []int64) {
	for i, g := range listedG {
		if i == 0 {
			s.Less, s.More = s.Value, s.Value
		}
		kg := float64(g) / 1000
		if kg < s.Value && (s.Less == s.Value || kg > s.Less) {
			s.Less = kg
		}
		if kg > s.Value && (s.More == s.Value || kg < s.More) {
			s.More = kg
		}
	}
}

func first(reps []int64) int64 {
	if len(reps) == 0 {
		return 0
	}
	return reps[0]
}
