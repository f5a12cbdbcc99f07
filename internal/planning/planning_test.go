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

// TestItem holds an item's units to the dose's: seconds become milliseconds, metres
// millimetres, and each working side keeps its own weight. Worked by hand.
func TestItem(t *testing.T) {
	left := progression.Dose{
		Reps: []int{5, 4, 3}, HoldS: 8, RestBetweenRepsS: 3, RestBetweenSetsS: 60, LoadG: 8_000,
		DistanceM: 20, TimeS: 30, FirstSide: sides.WorksRight, ExtraSetsWeaker: 1,
	}
	right := left
	right.LoadG = 6_500
	got := practice.Item(progression.Item{
		StepID: "a_step", WorksLeft: left, WorksRight: right,
	}, 0)
	want := sessions.Item{
		Ladder: progression.Edition{}.Version(),
		Step:   "a_step", Order: got.Order, Reps: []int64{5, 4, 3}, HoldMS: 8_000,
		RestRepMS: 3_000, RestSetMS: 60_000,
		LoadG: map[sides.Working]int64{
			sides.WorksLeft: 8_000, sides.WorksRight: 6_500,
		},
		DistanceMM: 20_000, TimeMS: 30_000, First: sides.WorksRight, Weaker: sides.WorksRight,
		ExtraSets: 1,
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("Item = %+v, want %+v", got, want)
	}
	next := practice.Item(progression.Item{}, 1)
	if got.Order == "" || got.Order >= next.Order {
		t.Errorf("orders %q, %q do not ascend", got.Order, next.Order)
	}
	if _, err := record.Between(got.Order, next.Order); err != nil {
		t.Errorf("no room between %q and %q: %v", got.Order, next.Order, err)
	}
}

// TestFirst_Pain: the pain that counts is the last one said, not the last session's,
// and 6 of 10 is past the bound of 5 that stops a suggestion.
func TestFirst_Pain(t *testing.T) {
	author := record.NewAuthor(7, 0, [32]byte{}, clock.New(7, clock.Stamp{}))
	d := record.NewDoc(author.NextID())
	create := func(kind string, values []record.FieldValue) {
		t.Helper()
		if _, _, err := author.Create(d, kind, values, 1_000_000); err != nil {
			t.Fatal(err)
		}
	}
	create(sessions.KindClient, sessions.Client{Name: "A", MassG: 70_000}.Values())
	create(sessions.KindScreen, sessions.ScreenValues(nil, 1_000))
	if _, said := planning.LastPain(d); said {
		t.Error("a pain was said before any session")
	}
	before, test := planning.First(d, practice)
	if before.Refusal != "" || test.ID != (record.ID{}) {
		t.Errorf("before any session: refusal %q, test %v", before.Refusal, test.ID)
	}
	session := func(startedMS int64, pain ...int64) {
		values := sessions.Session{StartedMS: startedMS}.Values()
		for _, p := range pain {
			values = append(values, record.FieldValue{Field: "pain", Value: record.Int(p)})
		}
		create(sessions.KindSession, values)
	}
	session(1_000, 2)
	session(2_000, 6)
	session(3_000)
	if last, said := planning.LastPain(d); !said || last != 6 {
		t.Errorf("LastPain = %d, %v, want 6", last, said)
	}
	if after, _ := planning.First(d, practice); after.Refusal == "" {
		t.Error("a plan is suggested at a pain of 6")
	}
}
