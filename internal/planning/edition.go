package planning

import (
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// EditionOf reads a practice's ladders from its document.
func EditionOf(d *record.Doc) progression.Edition {
	return progression.Revise(func(step string) progression.Edit {
		if e, found := sessions.StepEditOf(d, step); found {
			return e
		}
		return nil
	})
}
