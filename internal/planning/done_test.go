package planning_test

import (
	"reflect"
	"testing"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// TestDone counts by hand: 3 and 2 repetitions a side and an extra set of 2 for the
// weaker side are 12 asked. The morning is said by the session after, a set stopped by
// pain counts what was held, and a changed item makes older sessions another dose.
func TestDone(t *testing.T) {
	author := record.NewAuthor(7, 0, [32]byte{}, clock.New(7, clock.Stamp{}))
	d := record.NewDoc(author.NextID())
	wallMS := int64(1_000_000)
	create := func(kind string, values []record.FieldValue) record.ID {
		t.Helper()
		wallMS++
		id, _, err := author.Create(d, kind, values, wallMS)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	number := func(name string, n int64) record.FieldValue {
		return record.FieldValue{Field: name, Value: record.Int(n)}
	}
	plan := create(sessions.KindPlan, sessions.Plan{AcceptedMS: 1}.Values())
	itemID := create(sessions.KindItem, sessions.Item{Plan: plan.String(),
		Step: "straight_leg_hold", Reps: []int64{3, 2}, HoldMS: 8_000,
		Weaker: sides.WorksLeft, ExtraSets: 1}.Values())
	current := func() sessions.Item {
		p, _ := sessions.CurrentPlan(d)
		return p.Items[0]
	}
	session := func(day int64, reps int64, stop string, said ...record.FieldValue) {
		values := sessions.Session{StartedMS: day * 86_400_000, Plan: plan.String()}.Values()
		id := create(sessions.KindSession, append(values, said...))
		create(sessions.KindSet, sessions.Set{Session: id.String(), Item: itemID.String(),
			Asked: current().Revision.String(), Step: "straight_leg_hold",
			Down: sides.DownLeft, Working: sides.WorksLeft, Reps: reps, Stop: stop}.Values())
	}
	session(10, 12, "", number("finishedMS", 5), number("effort", 4), number("pain", 1),
		number("painBefore", 0))
	session(12, 7, sessions.StopPain, number("finishedMS", 6), number("painMorning", 3))
	session(13, 1, "", number("painMorning", 2)) // still open

	first := progression.Done{Day: 10, Asked: 12, Kept: 12, Effort: progression.Rated(4),
		Before: progression.Rated(0), Pain: progression.Rated(1), Morning: progression.Rated(3),
		SameDose: true}
	second := progression.Done{Day: 12, Asked: 12, Kept: 7, Morning: progression.Rated(2),
		StoppedByPain: true, SameDose: true}
	want := []progression.Done{first, second}
	if got := planning.Done(d, current()); !reflect.DeepEqual(got, want) {
		t.Errorf("Done =\n%+v, want\n%+v", got, want)
	}
	wallMS++
	if _, err := author.Write(d, itemID, sessions.KindItem, "holdMS", record.Int(9_000),
		wallMS); err != nil {
		t.Fatal(err)
	}
	for _, one := range planning.Done(d, current()) {
		if one.SameDose {
			t.Errorf("day %d was done before the hold was changed", one.Day)
		}
	}
}

// TestDone_Waiting: a session while the exercise waited for a clinician is none of its own; one
// in which it was due and left out was asked and not kept; and one of the step that the item
// was before is not held against the step that it is now. Two sets of one are 4 asked.
func TestDone_Waiting(t *testing.T) {
	b := newBook(t)
	plan := b.add(sessions.KindPlan, sessions.Plan{AcceptedMS: dayMS}.Values())
	id := b.add(sessions.KindItem, sessions.Item{
		Plan: plan.String(), Step: "wall_lean", Reps: []int64{1, 1},
	}.Values())
	session := func(day int64) {
		s := sessions.Session{StartedMS: day * dayMS, Plan: plan.String()}
		b.add(sessions.KindSession, append(s.Values(),
			record.FieldValue{Field: "finishedMS", Value: record.Int(day*dayMS + 1)}))
	}
	b.add(sessions.KindDecision, sessions.Decision{
		Step: "wall_lean", Waits: true, AtMS: 10 * dayMS,
	}.Values())
	look := sessions.ClearReferralValues(sessions.Referrals(b.doc)[0], "fine", "K.", 20*dayMS)
	b.add(sessions.KindClear, look)
	session(9)
	session(15)
	session(21)
	days := func() (days []int) {
		current, _ := sessions.CurrentPlan(b.doc)
		for _, one := range planning.Done(b.doc, current.Items[0]) {
			if one.Asked != 4 || one.Kept != 0 {
				t.Errorf("day %d: %d of %d", one.Day, one.Kept, one.Asked)
			}
			days = append(days, one.Day)
		}
		return days
	}
	if got := days(); !reflect.DeepEqual(got, []int{9, 21}) {
		t.Errorf("the exercise was due on %v", got)
	}
	_, err := b.author.Write(b.doc, id, sessions.KindItem, "step",
		record.Text("bent_knee_hold"), 21*dayMS+dayMS/2)
	if err != nil {
		t.Fatal(err)
	}
	session(22)
	if got := days(); !reflect.DeepEqual(got, []int{22}) {
		t.Errorf("the next step was due on %v", got)
	}
}

// TestDone_WithoutWeight: what is not led for want of a weight was not asked either, so nothing is
// made of its being left out. Two carries a side and an extra one that works the left are 5 asked.
func TestDone_WithoutWeight(t *testing.T) {
	for _, tt := range []struct {
		name        string
		left, right int64 // grams
		asked       []int // of the sessions in which it was due
	}{
		{"no weight", 0, 0, nil},
		{"for the left side", 8_000, 0, []int{3}},
		{"for the right side", 0, 8_000, []int{2}},
		{"for both", 8_000, 8_000, []int{5}},
	} {
		b := newBook(t)
		plan := b.add(sessions.KindPlan, sessions.Plan{AcceptedMS: dayMS}.Values())
		b.add(sessions.KindItem, sessions.Item{
			Plan: plan.String(), Step: "suitcase_carry", Reps: []int64{1, 1}, TimeMS: 20_000,
			LoadG: map[sides.Working]int64{
				sides.WorksLeft: tt.left, sides.WorksRight: tt.right,
			},
			Weaker: sides.WorksLeft, ExtraSets: 1,
		}.Values())
		s := sessions.Session{StartedMS: 9 * dayMS, Plan: plan.String()}
		b.add(sessions.KindSession, append(s.Values(),
			record.FieldValue{Field: "finishedMS", Value: record.Int(9*dayMS + 1)}))
		current, _ := sessions.CurrentPlan(b.doc)
		var asked []int
		for _, one := range planning.Done(b.doc, current.Items[0]) {
			asked = append(asked, one.Asked)
		}
		if !reflect.DeepEqual(asked, tt.asked) {
			t.Errorf("%s: asked %v, want %v", tt.name, asked, tt.asked)
		}
	}
}
