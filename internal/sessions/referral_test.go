package sessions_test

import (
	"reflect"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// TestChanges: what a decision writes makes the item like the other, what it replaced brings
// the item back, and sets asked before and after taking it back were at one dose.
func TestChanges(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	plan := p.create(d, "plan", sessions.Plan{AcceptedMS: 1}.Values())
	from := fullItem
	from.Plan, from.Pinned, from.DistanceMM = plan.String(), "reps", 0
	id := p.create(d, "item", from.Values())
	read := func() sessions.Item {
		p.wallMS++
		got, _ := sessions.CurrentPlan(d)
		return got.Items[0]
	}
	write := func(values []record.FieldValue) {
		t.Helper()
		for _, f := range values {
			p.write(d, id, "item", f.Field, f.Value)
		}
	}
	before := read()
	to := before
	to.Step, to.Reps, to.Pinned, to.DistanceMM, to.ExtraSets = "rack_carry", []int64{1, 1}, "", 9, 0
	to.LoadG = map[sides.Working]int64{left: 9_000, right: 12_500}
	values, was := before.Changes(to)
	if len(values) != 6 {
		t.Errorf("%d fields are written, want the six that differ: %v", len(values), values)
	}
	write(values)
	after := read()
	if after.Step != "rack_carry" || after.LoadG[left] != 9_000 || after.ExtraSets != 0 ||
		after.SinceMS <= before.SinceMS || after.HoldMS != before.HoldMS {
		t.Errorf("the item became %+v", after)
	}
	if sessions.IsDoseOf(d, after, before.Revision.String()) {
		t.Error("another step counts as the same dose")
	}
	write(sessions.Before(was + "\nnonsense=1\nholdMS=x\n\n"))
	back := read()
	if !sessions.IsDoseOf(d, back, before.Revision.String()) ||
		sessions.IsDoseOf(d, back, after.Revision.String()) ||
		sessions.IsDoseOf(d, back, "nonsense") {
		t.Error("the dose that was taken back is not told from the other")
	}
	back.Revision, back.SinceMS = before.Revision, before.SinceMS
	if !reflect.DeepEqual(back, before) {
		t.Errorf("taken back it is %+v, want %+v", back, before)
	}
}

// TestReferrals: an exercise waits from the decision until a look at that very decision is
// noted, in a plan made since too; a voided decision or look counts as never made.
func TestReferrals(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	plan := p.create(d, "plan", sessions.Plan{AcceptedMS: 1}.Values())
	for _, step := range []string{"wall_lean", "suitcase_carry"} {
		p.create(d, "item", sessions.Item{Plan: plan.String(), Step: step, Order: step}.Values())
	}
	refer := func(atMS int64) record.ID {
		p.wallMS++
		return p.create(d, "decision", sessions.Decision{
			About: "i", Step: "wall_lean", Chosen: sessions.ChosenRefer, Waits: true, AtMS: atMS,
		}.Values())
	}
	due := func() (steps []string) {
		current, _ := sessions.CurrentPlan(d)
		for _, i := range current.Due() {
			steps = append(steps, i.Step)
		}
		return steps
	}
	first := refer(100)
	if got := due(); len(got) != 1 || got[0] != "suitcase_carry" {
		t.Errorf("due is %v", got)
	}
	p.void(d, first, "decision")
	if len(due()) != 2 {
		t.Error("a decision that was taken back still holds the exercise")
	}
	refer(200)
	second := refer(300) // a colleague, who had not heard
	all := sessions.Referrals(d)
	look := p.create(d, "clear",
		sessions.ClearReferralValues(all[0], "fine", "K. Example, doctor", 400))
	if got := due(); len(got) != 1 {
		t.Errorf("one look cleared a decision that its writer had not seen: due is %v", got)
	}
	p.create(d, "clear", sessions.ClearReferralValues(all[1], "fine", "K. Example", 500))
	all = sessions.Referrals(d)
	if len(due()) != 2 || all[0].By != "K. Example, doctor" || all[1].ID != second {
		t.Errorf("due is %v by %+v", due(), all)
	}
	for atMS, held := range map[int64]bool{199: false, 200: true, 399: true, 400: false} {
		if all[0].Held("wall_lean", atMS) != held {
			t.Errorf("held at %d: %v", atMS, !held)
		}
	}
	if all[0].Held("suitcase_carry", 300) {
		t.Error("another exercise waits with it")
	}
	p.void(d, look, "clear")
	if len(due()) != 1 {
		t.Error("a look that was taken back still clears")
	}
	if len(sessions.Screenings(d)) != 0 {
		t.Error("a look at an exercise is read as a safety screen")
	}
}
