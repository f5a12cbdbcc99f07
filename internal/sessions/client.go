package sessions

import (
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Client is the person a client record is about.
type Client struct {
	ID        record.ID
	Name      string
	Sex       string // "female", "male", or "" for not said: chooses reference tables only
	BirthYear int64
	StatureMM int64
	MassG     int64
	Complaint string
	Dominant  string // "left", "right" or ""
	TargetMS  int64  // hold to reach on each side; 0: not said
}

// Values returns the client as the fields of a new record.
func (c Client) Values() []record.FieldValue {
	var f fields
	f.text("name", c.Name)
	f.text("sex", c.Sex)
	f.number("birthYear", c.BirthYear)
	f.number("statureMM", c.StatureMM)
	f.number("massG", c.MassG)
	f.text("complaint", c.Complaint)
	f.text("dominant", c.Dominant)
	f.number("targetMS", c.TargetMS)
	return f
}

// ClientIn returns the client of a client document, and false if the document
// has none yet.
func ClientIn(d *record.Doc) (Client, bool) {
	all := d.Records(KindClient)
	if len(all) == 0 {
		return Client{}, false
	}
	r := all[0]
	return Client{
		ID:        r.ID(),
		Name:      text(r, "name"),
		Sex:       text(r, "sex"),
		BirthYear: number(r, "birthYear"),
		StatureMM: number(r, "statureMM"),
		MassG:     number(r, "massG"),
		Complaint: text(r, "complaint"),
		Dominant:  text(r, "dominant"),
		TargetMS:  max(number(r, "targetMS"), 0),
	}, true
}

// Author is the person behind a device, as that device said in this document.
type Author struct {
	Name string
	Role Role
}

// Values returns the author as the fields of a new record.
func (a Author) Values() []record.FieldValue {
	var f fields
	f.text("name", a.Name)
	f.text("role", string(a.Role))
	return f
}

// AuthorOf returns who a device belongs to: the author record that this very
// device made. It is false for a device that never said.
func AuthorOf(d *record.Doc, device clock.Device) (Author, bool) {
	for _, r := range d.Records(KindAuthor) {
		if r.ID().Device == device {
			return Author{Name: text(r, "name"), Role: Role(text(r, "role"))}, true
		}
	}
	return Author{}, false
}

// PracticeName returns the name in a practice document, "" if it has none.
func PracticeName(d *record.Doc) string {
	if r, found := PracticeIn(d); found {
		return text(r, "name")
	}
	return ""
}
