package sessions

import "evenhold/sync/record"

// What a coach made of a suggestion.
const (
	Accepted = "accepted"
	Changed  = "changed"
	Declined = "declined"
)

// Decision is what a coach made of a suggestion, kept with what was suggested.
type Decision struct {
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
	AtMS      int64
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
	f.count("atMS", d.AtMS)
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
		})
	}
	return all
}
