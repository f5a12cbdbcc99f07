package sessions

import (
	"encoding/binary"
	"slices"

	"golang.org/x/crypto/blake2s"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Design note. Each step of the ladders that a practice changes has one record, whose
// identifier follows from the step's name. Two coaches who change a step without knowing
// of each other therefore write into one record: different fields are both kept, and two
// values of one field are listed to be chosen from.

// StepEdit is what a practice changed of one step of the ladders, in the fields that
// internal/progression names. A field set back to how the step is shipped is absent.
type StepEdit struct {
	Step   string
	Values map[string]int64
	Place  string   // order key
	Cues   []string // own words by place, "" for none
	Hidden bool
}

// FieldHidden and FieldPlace are the fields of a StepEdit that are neither numbers nor cues.
const (
	FieldHidden = "hidden"
	FieldPlace  = "place"
)

var fieldsCues = []string{"cue1", "cue2", "cue3", "cue4"}

// FieldsCues returns the field of each of a step's cues, by place.
func FieldsCues() []string { return slices.Clone(fieldsCues) }

// StepID is the identifier of the record about one step: a device that nobody has, made of
// the step's name by BLAKE2s, RFC 7693.
func StepID(step string) record.ID {
	sum := blake2s.Sum256([]byte("step " + step))
	return record.ID{Device: clock.Device(binary.BigEndian.Uint64(sum[:])), Seq: 1}
}

// StepEdits returns what a practice document changes of the ladders, each step once.
func StepEdits(d *record.Doc) []StepEdit {
	var all []StepEdit
	for _, r := range live(d, KindStep) {
		e := StepEdit{Step: text(r, "step"), Hidden: truth(r, FieldHidden), Values: map[string]int64{}}
		if r.ID() != StepID(e.Step) {
			continue
		}
		e.Place = text(r, FieldPlace)
		for _, field := range r.Fields() {
			if n, isNumber := r.Int(field); isNumber {
				e.Values[field] = n
			}
		}
		for _, field := range fieldsCues {
			e.Cues = append(e.Cues, text(r, field))
		}
		all = append(all, e)
	}
	return all
}
