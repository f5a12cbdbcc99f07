package sessions_test

import (
	"reflect"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// edit writes one field about a step, as a phone does.
func (p *pen) edit(d *record.Doc, step, field string, v record.Value) {
	p.t.Helper()
	id := sessions.StepID(step)
	p.write(d, id, sessions.KindStep, "step", record.Text(step))
	p.write(d, id, sessions.KindStep, field, v)
}

// TestStepEdits_Merge: two coaches who change a step without knowing of each other write
// into one record. What is in different fields is both kept; two values of one field are
// a conflict that is listed with both.
func TestStepEdits_Merge(t *testing.T) {
	one, two := newPen(t, 1), newPen(t, 2)
	here := one.doc()
	one.create(here, sessions.KindPractice, []record.FieldValue{
		{Field: "name", Value: record.Text("Example Yard")}})
	there := clone(t, here)
	two.wallMS = one.wallMS + 5_000
	one.edit(here, "wall_lean", "holdMS", record.Int(8_000))
	one.edit(here, "wall_lean", "restSetMS", record.Int(45_000))
	two.edit(there, "wall_lean", "holdMS", record.Int(6_000))
	two.edit(there, "wall_lean", "cue2", record.Text("Long line"))
	two.edit(there, "lunge", sessions.FieldHidden, record.Bool(true))
	merge(t, here, there)
	merge(t, there, here)

	want := map[string]sessions.StepEdit{
		"wall_lean": {Step: "wall_lean", Cues: []string{"", "Long line", "", ""},
			Values: map[string]int64{"holdMS": 6_000, "restSetMS": 45_000}},
		"lunge": {Step: "lunge", Hidden: true, Cues: []string{"", "", "", ""},
			Values: map[string]int64{}},
	}
	for _, d := range []*record.Doc{here, there} {
		got := map[string]sessions.StepEdit{}
		for _, e := range sessions.StepEdits(d) {
			got[e.Step] = e
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("the edits are %+v, want %+v", got, want)
		}
		conflicts := d.Conflicts()
		if len(conflicts) != 1 || conflicts[0].Field != "holdMS" {
			t.Errorf("the conflicts are %+v, want the hold alone", conflicts)
		}
	}
}

// TestStepEdits_AsShipped: a field set back says nothing, and a record that is not the one
// about its step is left out.
func TestStepEdits_AsShipped(t *testing.T) {
	p := newPen(t, 1)
	d := p.doc()
	p.edit(d, "wall_lean", "holdMS", record.Int(8_000))
	p.edit(d, "wall_lean", "holdMS", record.Text(""))
	p.create(d, sessions.KindStep, []record.FieldValue{
		{Field: "step", Value: record.Text("lunge")}, {Field: "sets", Value: record.Int(2)}})
	all := sessions.StepEdits(d)
	if len(all) != 1 || all[0].Step != "wall_lean" || len(all[0].Values) != 0 {
		t.Errorf("the edits are %+v", all)
	}
}
