package sessions

import (
	"slices"
	"strings"

	"evenhold/sync/record"
)

// Question is one question of the safety screen. The words stand in the phrase
// files under "flag.<ID>".
type Question struct {
	ID string
	// Now asks for help today, not at the next visit.
	Now bool
}

// Questions returns the safety screen, in order. What is asked follows "Red
// flags presented in current low back pain guidelines: a review", Eur Spine J
// 2016;25(9):2788-2802, doi:10.1007/s00586-016-4684-0; the wording is ours.
// False positives are common: a yes asks for a clinician's look, no more.
func Questions() []Question {
	return []Question{
		{ID: "saddle", Now: true},
		{ID: "bladder", Now: true},
		{ID: "leg_weak", Now: true},
		{ID: "both_legs", Now: true},
		{ID: "trauma", Now: true},
		{ID: "bones"},
		{ID: "fever"},
		{ID: "cancer"},
		{ID: "weight_loss"},
		{ID: "night_pain"},
	}
}

// Screening is one answered safety screen.
type Screening struct {
	ID         record.ID
	AnsweredMS int64
	Yes        []string // IDs of the questions answered yes, in the order of Questions
	Cleared    bool     // a clinician's look was noted for each yes
	ClearNote  string
	ClearedBy  string
}

// IsOpen reports whether a yes of this screening still waits for a look.
func (s Screening) IsOpen() bool { return len(s.Yes) > 0 && !s.Cleared }

// ScreenValues returns answers as the fields of a new record. A question
// without an answer is left out; the caller asks for all of them.
func ScreenValues(answers map[string]bool, answeredMS int64) []record.FieldValue {
	var f fields
	f.count("answeredMS", answeredMS)
	for _, q := range Questions() {
		if yes, said := answers[q.ID]; said {
			f.truth("q_"+q.ID, yes)
		}
	}
	return f
}

// ClearValues returns the note of a clinician's look as the fields of a new record. It
// names the yeses that the writer saw: one that arrives later is not cleared by it.
func ClearValues(seen Screening, note, by string, atMS int64) []record.FieldValue {
	var f fields
	f.text("screen", seen.ID.String())
	f.text("clears", strings.Join(seen.Yes, ","))
	f.text("note", note)
	f.text("by", by)
	f.count("atMS", atMS)
	return f
}

// Screenings returns all answered safety screens, oldest first. If two writers
// answered one question differently, a yes of either counts.
func Screenings(d *record.Doc) []Screening {
	notes := map[string][]*record.Record{}
	for _, r := range live(d, KindClear) {
		notes[text(r, "screen")] = append(notes[text(r, "screen")], r)
	}
	var all []Screening
	for _, r := range live(d, KindScreen) {
		s := Screening{ID: r.ID(), AnsweredMS: number(r, "answeredMS")}
		for _, q := range Questions() {
			if saidYes(r.Register("q_" + q.ID)) {
				s.Yes = append(s.Yes, q.ID)
			}
		}
		var cleared []string
		for _, note := range notes[r.ID().String()] {
			cleared = append(cleared, strings.Split(text(note, "clears"), ",")...)
			s.ClearNote, s.ClearedBy = text(note, "note"), text(note, "by")
		}
		s.Cleared = len(cleared) > 0 && !slices.ContainsFunc(s.Yes, func(yes string) bool {
			return !slices.Contains(cleared, yes)
		})
		all = append(all, s)
	}
	return all
}

func saidYes(r record.Register) bool {
	if yes, _ := r.Value().Bool(); yes {
		return true
	}
	for _, op := range r.Also() {
		if yes, _ := op.Value.Bool(); yes {
			return true
		}
	}
	return false
}

// OpenFlag returns the latest screening whose yes still waits for a look, and
// false if there is none.
func OpenFlag(d *record.Doc) (Screening, bool) {
	all := Screenings(d)
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].IsOpen() {
			return all[i], true
		}
	}
	return Screening{}, false
}
