package sessions

import (
	"strconv"
	"strings"

	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// What a coach made of a suggestion.
const (
	Accepted = "accepted"
	Changed  = "changed"
	Declined = "declined"
)

// Choices of a decision on an item that this package reads: the words of the verdicts.
const (
	ChosenRefer  = "refer"
	ChosenRetest = "retest"
)

// Decision is what a coach made of a suggestion, kept with what was suggested.
type Decision struct {
	_      [0]func()
	ID     record.ID
	About  string // "plan", or the identifier of the plan item it is about
	State  string // Accepted, Changed or Declined
	Reason string
	Test   string // the test that a first plan was suggested from
	// Of a decision on one item: the step, what was suggested, what was chosen, and the
	// rules that fired with their numbers, as "rule.key name=number" in lines.
	Step      string
	Suggested string
	Chosen    string
	Rules     string
	Ladder    string // version of the ladders that it was taken by; "": not said
	AtMS      int64
	// Waits says that the exercise is not done until a clinician has looked: see Referrals.
	Waits bool
	// Was is what the decision replaced in the item, for taking it back: see Changes.
	Was string
}

// Values returns the decision as the fields of a new record.
func (d Decision) Values() []record.FieldValue {
	var f fields
	f.text("about", d.About)
	f.text("state", d.State)
	f.text("reason", d.Reason)
	f.text("test", d.Test)
	f.text("step", d.Step)
	f.text("suggested", d.Suggested)
	f.text("chosen", d.Chosen)
	f.text("rules", d.Rules)
	f.text(FieldLadder, d.Ladder)
	f.count("atMS", d.AtMS)
	if d.Waits {
		f.truth("waits", true)
	}
	f.text("was", d.Was)
	return f
}

// Decisions returns the decisions of a client document, oldest first, voided ones
// left out.
func Decisions(d *record.Doc) []Decision {
	var all []Decision
	for _, r := range live(d, KindDecision) {
		all = append(all, Decision{
			ID: r.ID(), About: text(r, "about"), State: text(r, "state"), Reason: text(r, "reason"),
			Test: text(r, "test"), Step: text(r, "step"), Suggested: text(r, "suggested"),
			Chosen: text(r, "chosen"), Rules: text(r, "rules"), AtMS: number(r, "atMS"),
			Waits: truth(r, "waits"), Was: text(r, "was"),
			Ladder: text(r, FieldLadder),
		})
	}
	return all
}

// Changes are the fields of an item that a decision writes to make it like to: what is done
// and how much of it. was is what they replace, as "field=value" in lines.
func (i Item) Changes(to Item) (values []record.FieldValue, was string) {
	var lines []string
	before, after := i.decided(), to.decided()
	for n, f := range after {
		if f.Value != before[n].Value {
			values = append(values, f)
			lines = append(lines, f.Field+"="+written(before[n].Value))
		}
	}
	return values, strings.Join(lines, "\n")
}

// dose are the fields of what is done and how much of it, zeros too, always in this order.
func (i Item) dose() []record.FieldValue {
	var f fields
	for _, words := range [][2]string{
		{"step", i.Step}, {"reps", JoinReps(i.Reps)}, {"pinned", i.Pinned},
	} {
		f = append(f, record.FieldValue{Field: words[0], Value: record.Text(words[1])})
	}
	f.count("holdMS", i.HoldMS)
	f.count("restRepMS", i.RestRepMS)
	f.count("restSetMS", i.RestSetMS)
	f.count(FieldLoadWorksLeftG, i.LoadG[sides.WorksLeft])
	f.count(FieldLoadWorksRightG, i.LoadG[sides.WorksRight])
	f.count("distanceMM", i.DistanceMM)
	f.count("timeMS", i.TimeMS)
	f.count("extraSets", i.ExtraSets)
	return f
}

// decided are the fields that a decision can change: the dose, and by which state of the
// ladders it was suggested.
func (i Item) decided() []record.FieldValue {
	return append(i.dose(),
		record.FieldValue{Field: FieldLadder, Value: record.Text(i.Ladder)},
		record.FieldValue{Field: FieldCues, Value: record.Text(i.Cues)})
}

// written is a value as text, "" for zero and for one that was never said: they are the same
// dose.
func written(v record.Value) string {
	if n, isNumber := v.Int(); isNumber && n != 0 {
		return strconv.FormatInt(n, 10)
	}
	s, _ := v.Text()
	return s
}

// Before returns the fields that bring back what Changes replaced; a line that is no field of
// a dose is left out.
func Before(was string) []record.FieldValue {
	var f fields
	for line := range strings.SplitSeq(was, "\n") {
		name, value, _ := strings.Cut(line, "=")
		for _, known := range (Item{}).decided() {
			if known.Field != name {
				continue
			}
			if _, isText := known.Value.Text(); isText {
				f = append(f, record.FieldValue{Field: name, Value: record.Text(value)})
			} else if n, err := strconv.ParseInt(value, 10, 64); err == nil || value == "" {
				f.count(name, n)
			}
		}
	}
	return f
}
