package planning

import (
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// EditionOf reads a practice's ladders from its document.
func EditionOf(d *record.Doc) progression.Edition {
	var edits []progression.Edit
	for _, e := range sessions.StepEdits(d) {
		values := map[progression.Editable]int64{}
		for field, v := range e.Values {
			values[progression.Editable(field)] = v
		}
		edits = append(edits, progression.Edit{
			Step: e.Step, Values: values, Place: e.Place, Cues: e.Cues, Hidden: e.Hidden,
		})
	}
	return progression.Revise(edits)
}
