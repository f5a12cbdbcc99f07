package sessions

import (
	"sort"

	"evenhold/sync/record"
)

// What an implement can be.
const (
	Kettlebell = "kettlebell"
	Dumbbell   = "dumbbell"
	Bucket     = "bucket"
	OtherThing = "other"
)

// ImplementKinds returns what an implement can be, in the order they are offered.
func ImplementKinds() []string { return []string{Kettlebell, Dumbbell, Bucket, OtherThing} }

// Implement is one weight that a practice has at hand.
type Implement struct {
	ID      record.ID
	What    string // one of ImplementKinds
	WeightG int64
}

// Values returns the implement as the fields of a new record.
func (i Implement) Values() []record.FieldValue {
	var f fields
	f.text("what", i.What)
	f.number("weightG", i.WeightG)
	return f
}

// Implements returns the weights of a practice document, lightest first.
func Implements(d *record.Doc) []Implement {
	var all []Implement
	for _, r := range live(d, KindImplement) {
		if weightG := number(r, "weightG"); weightG > 0 {
			all = append(all, Implement{r.ID(), text(r, "what"), weightG})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].WeightG < all[j].WeightG })
	return all
}

// Fields of the practice's own record that a coach may write too.
const (
	FieldNoisePM   = "noisePM"
	FieldNoiseFrom = "noiseFrom"
	FieldOwnSample = "ownSample"
)

// NoiseSetting is the typical error that a practice set by hand.
type NoiseSetting struct {
	PM   int64  // in parts of a thousand of a hold; 0: not set
	From string // where the number is from, in the practice's own words
}

// NoiseOf returns what a practice document says of the test noise.
func NoiseOf(d *record.Doc) NoiseSetting {
	r, found := PracticeIn(d)
	if !found {
		return NoiseSetting{}
	}
	return NoiseSetting{PM: max(number(r, FieldNoisePM), 0), From: text(r, FieldNoiseFrom)}
}

// PracticeIn returns the practice's own record, and false until it was fetched.
func PracticeIn(d *record.Doc) (*record.Record, bool) {
	all := d.Records(KindPractice)
	if len(all) == 0 {
		return nil, false
	}
	return all[0], true
}

// UsesOwnSample reports whether a practice wants its own records for a sample.
func UsesOwnSample(d *record.Doc) bool {
	r, found := PracticeIn(d)
	return found && truth(r, FieldOwnSample)
}
