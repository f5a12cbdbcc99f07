package sessions_test

import (
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

// TestStepEdit_Merge: two coaches who change a step without knowing of each other write
// into one record. What is in different fields is both kept; two values of one field are
// a conflict that is listed with both.
func TestStepEdit_Merge(t *testing.T) {
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
	two.edit(there, "lunge", "hidden", record.Bool(true))
	merge(t, here, there)
	merge(t, there, here)

	for _, d := range []*record.Doc{here, there} {
		lean, found := sessions.StepEditOf(d, "wall_lean")
		hold, _ := lean.Number("holdMS")
		rest, _ := lean.Number("restSetMS")
		if !found || hold != 6_000 || rest != 45_000 || lean.Words("cue2") != "Long line" {
			t.Errorf("a hold of %d ms, a rest of %d ms, the cue %q", hold, rest, lean.Words("cue2"))
		}
		lunge, _ := sessions.StepEditOf(d, "lunge")
		if hidden, said := lunge.Number("hidden"); hidden != 1 || !said {
			t.Error("the lunge is not hidden")
		}
		conflicts := d.Conflicts()
		if len(conflicts) != 1 || conflicts[0].Field != "holdMS" {
			t.Errorf("the conflicts are %+v, want the hold alone", conflicts)
		}
	}
}

// TestStepEdit_AsShipped: a field set back says nothing, and a record that is not the one
// about its step is left out.
func TestStepEdit_AsShipped(t *testing.T) {
	p := newPen(t, 1)
	d := p.doc()
	p.edit(d, "wall_lean", "holdMS", record.Int(8_000))
	p.edit(d, "wall_lean", "holdMS", record.Text(""))
	p.create(d, sessions.KindStep, []record.FieldValue{
		{Field: "step", Value: record.Text("lunge")}, {Field: "sets", Value: record.Int(2)}})
	lean, _ := sessions.StepEditOf(d, "wall_lean")
	if n, said := lean.Number("holdMS"); said {
		t.Errorf("set back the hold is %d", n)
	}
	if _, found := sessions.StepEditOf(d, "lunge"); found {
		t.Error("a record of another identifier counts")
	}
	p.void(d, sessions.StepID("wall_lean"), sessions.KindStep)
	if _, found := sessions.StepEditOf(d, "wall_lean"); found {
		t.Error("a voided record counts")
	}
}
