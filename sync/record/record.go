package record

import (
	"cmp"
	"iter"
	"slices"
	"sort"

	"evenhold/sync/clock"
)

// VoidedField is the field that deletes a record: it holds the reason. An empty text brings the
// record back. Nothing is removed either way.
const VoidedField = "voided"

// Record is one thing in a document: a set, a trial, a person. It shows the document as it is
// now, also after later changes.
type Record struct {
	id     ID
	first  *entry   // of the lowest stamp: names the kind and the time of creation
	fields []*entry // the latest operation of each field, sorted by field name
}

// Conflict is a field of which two writers, unaware of each other, recorded different values.
type Conflict struct {
	Record *Record
	Field  string
}

// place puts a new entry into its record and field.
func (d *Doc) place(added *entry) {
	r, found := d.records[added.op.Record]
	if !found {
		r = &Record{id: added.op.Record}
		d.records[r.id] = r
		d.order = append(d.order, r)
		d.isOrdered = false
	}
	if r.first == nil || compare(added.op, r.first.op) < 0 {
		r.first = added
		d.isOrdered = false
	}
	at, found := r.find(added.op.Field)
	if !found {
		r.fields = slices.Insert(r.fields, at, added)
		return
	}
	link := &r.fields[at]
	for *link != nil && compare((*link).op, added.op) > 0 {
		link = &(*link).older
	}
	added.older = *link
	*link = added
}

// compare orders operations by stamp. An honest device never issues a stamp twice; the number
// makes the order total even for a dishonest one.
func compare(a, b *Operation) int {
	return cmp.Or(a.Stamp.Compare(b.Stamp), cmp.Compare(a.Seq, b.Seq))
}

// Record returns the record with that identifier, and false if no operation names it.
func (d *Doc) Record(id ID) (*Record, bool) {
	r, found := d.records[id]
	return r, found
}

// Records returns the records of one kind in order of their first stamp, then identifier;
// voided ones included.
func (d *Doc) Records(kind string) []*Record {
	d.sort()
	var ofKind []*Record
	for _, r := range d.order {
		if r.Kind() == kind {
			ofKind = append(ofKind, r)
		}
	}
	return ofKind
}

func (d *Doc) sort() {
	if d.isOrdered {
		return
	}
	sort.Slice(d.order, func(i, j int) bool {
		a, b := d.order[i], d.order[j]
		return cmp.Or(a.Created().Compare(b.Created()), a.id.Compare(b.id)) < 0
	})
	d.isOrdered = true
}

// Conflicts returns the fields with more than one head whose heads do not all hold the same
// value, in order of record, then field.
func (d *Doc) Conflicts() []Conflict {
	d.sort()
	var all []Conflict
	for _, r := range d.order {
		for _, latest := range r.fields {
			if (Register{latest}).isDisputed() {
				all = append(all, Conflict{Record: r, Field: latest.op.Field})
			}
		}
	}
	return all
}

func (r *Record) find(field string) (at int, found bool) {
	return slices.BinarySearchFunc(r.fields, field, func(e *entry, want string) int {
		return cmp.Compare(e.op.Field, want)
	})
}

// ID returns the record's identifier.
func (r *Record) ID() ID { return r.id }

// Kind returns the kind that the earliest operation named.
func (r *Record) Kind() string { return r.first.op.Kind }

// Created returns the stamp of the earliest operation.
func (r *Record) Created() clock.Stamp { return r.first.op.Stamp }

// Fields yields all fields ever written, sorted by name.
func (r *Record) Fields() iter.Seq2[string, Register] {
	return func(yield func(string, Register) bool) {
		for _, latest := range r.fields {
			if !yield(latest.op.Field, Register{latest}) {
				return
			}
		}
	}
}

// Register returns one field; the zero Register if it was never written.
func (r *Record) Register(field string) Register {
	at, found := r.find(field)
	if !found {
		return Register{}
	}
	return Register{r.fields[at]}
}

// Int returns the whole number in field, and false if there is none.
func (r *Record) Int(field string) (int64, bool) { return r.Register(field).Value().Int() }

// Text returns the text in field, and false if there is none.
func (r *Record) Text(field string) (string, bool) { return r.Register(field).Value().Text() }

// Bool returns the truth value in field, and false second if there is none.
func (r *Record) Bool(field string) (value, ok bool) { return r.Register(field).Value().Bool() }

// IsVoided reports whether VoidedField holds a reason.
func (r *Record) IsVoided() bool {
	reason, _ := r.Text(VoidedField)
	return reason != ""
}
