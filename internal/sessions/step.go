package sessions

import (
	"encoding/binary"

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
type StepEdit struct{ record *record.Record }

// StepID is the identifier of the record about one step: a device that nobody has, made of
// the step's name by BLAKE2s, RFC 7693.
func StepID(step string) record.ID {
	sum := blake2s.Sum256([]byte("step " + step))
	return record.ID{Device: clock.Device(binary.BigEndian.Uint64(sum[:])), Seq: 1}
}

// StepEditOf returns what a practice document changes of a step, and false where it has
// no record about it.
func StepEditOf(d *record.Doc, step string) (StepEdit, bool) {
	r, found := d.Record(StepID(step))
	return StepEdit{r}, found && r.Kind() == KindStep && !r.IsVoided()
}

// Number returns the number in a field, 1 for what is said to be true; false if there is
// none.
func (e StepEdit) Number(field string) (int64, bool) {
	if truth(e.record, field) {
		return 1, true
	}
	return e.record.Int(field)
}

// Words returns the words in a field, "" if there are none.
func (e StepEdit) Words(field string) string { return text(e.record, field) }
