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
