package sessions

import "evenhold/sync/record"

// Sample is the summary of a group of people whose holds a practice, or somebody else,
// measured.
type Sample struct {
	_      [0]func()
	ID     record.ID
	Name   string // who they were, in the practice's own words
	What   string // what was held: a test of internal/reference
	Sex    string // "male", "female"; "": men and women together
	People int64
	MeanMS int64
	SDMS   int64
}

// Values returns the sample as the fields of a new record.
func (s Sample) Values() []record.FieldValue {
	var f fields
	f.text("name", s.Name)
	f.text("what", s.What)
	f.text("sex", s.Sex)
	f.number("people", s.People)
	f.number("meanMS", s.MeanMS)
	f.number("sdMS", s.SDMS)
	return f
}

// Samples returns the samples of a practice document in the order they were entered.
func Samples(d *record.Doc) []Sample {
	var all []Sample
	for _, r := range live(d, KindSample) {
		all = append(all, Sample{
			ID: r.ID(), Name: text(r, "name"), What: text(r, "what"), Sex: text(r, "sex"),
			People: number(r, "people"), MeanMS: number(r, "meanMS"), SDMS: number(r, "sdMS"),
		})
	}
	return all
}
