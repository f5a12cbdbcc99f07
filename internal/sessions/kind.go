// Package sessions is what the records of a practice mean: clients, safety
// screens, tests, plans, sessions and sets as typed views over sync documents,
// who may write which of them, and the state machines of a running test and a
// running session.
//
// Everything is pure: time comes in as a Reading, identifiers and the pen that
// writes operations come from the caller.
//
// Units are in the names: MS milliseconds, G grams, MM millimetres; times of
// day are milliseconds since 1970 UTC. A zero number means "not said" where
// zero makes no sense. Sides are the types of internal/sides.
package sessions

import "evenhold/sync/record"

// The kinds of records. BelongsIn says which stand in the practice document and which in
// client documents.
const (
	KindPractice = "practice"
	KindClient   = "client"
	KindAuthor   = "author"
	KindScreen   = "screen"
	KindClear    = "clear"
	KindTest     = "test"
	KindTrial    = "trial"
	KindPlan     = "plan"
	KindItem     = "item"
	KindDecision = "decision"
	KindSession  = "session"
	KindSet      = "set"
	KindSame     = "same"

	KindImplement = "implement"
	KindStep      = "step"
	KindTrunk     = "trunk"
	KindSample    = "sample"
)

// Field names that more than one file needs.
const (
	FieldLoadWorksLeftG  = "loadWorksLeftG"
	FieldLoadWorksRightG = "loadWorksRightG"
	FieldPainBefore      = "painBefore"
	FieldPainMorning     = "painMorning"
	FieldLadder          = "ladder"
	FieldCues            = "cues"
)

// fields gathers the values of a record to be created, leaving out what was
// not said.
type fields []record.FieldValue

func (f *fields) text(name, value string) {
	if value != "" {
		*f = append(*f, record.FieldValue{Field: name, Value: record.Text(value)})
	}
}

func (f *fields) number(name string, value int64) {
	if value != 0 {
		*f = append(*f, record.FieldValue{Field: name, Value: record.Int(value)})
	}
}

// count is number for quantities of which zero is a value.
func (f *fields) count(name string, value int64) {
	*f = append(*f, record.FieldValue{Field: name, Value: record.Int(value)})
}

func (f *fields) truth(name string, value bool) {
	*f = append(*f, record.FieldValue{Field: name, Value: record.Bool(value)})
}

func text(r *record.Record, field string) string {
	s, _ := r.Text(field)
	return s
}

func number(r *record.Record, field string) int64 {
	n, _ := r.Int(field)
	return n
}

func truth(r *record.Record, field string) bool {
	b, _ := r.Bool(field)
	return b
}

// live returns the records of one kind that are not voided.
func live(d *record.Doc, kind string) []*record.Record {
	var kept []*record.Record
	for _, r := range d.Records(kind) {
		if !r.IsVoided() {
			kept = append(kept, r)
		}
	}
	return kept
}
