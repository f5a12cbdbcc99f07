package sessions_test

import (
	"reflect"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

var fullItem = sessions.Item{
	Step: "suitcase_carry", Order: "b", Reps: []int64{5, 4, 3}, HoldMS: 10_000, RestRepMS: 4_000,
	RestSetMS: 60_000, LoadG: map[sides.Working]int64{left: 16_000, right: 12_500},
	DistanceMM: 20_000, TimeMS: 30_000, First: right, Weaker: right, ExtraSets: 1,
}

// TestPlanRoundTrip stores a plan and reads it back, the items in their order.
func TestPlanRoundTrip(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	if _, found := sessions.CurrentPlan(d); found {
		t.Error("an empty document has a plan")
	}
	p.create(d, "plan", sessions.Plan{AcceptedMS: 1, Test: "older"}.Values())
	p.wallMS++
	plan := sessions.Plan{Test: "t-1", AcceptedMS: 42}
	plan.ID = p.create(d, "plan", plan.Values())
	for _, order := range []string{"b", "a", "b"} {
		item := fullItem
		item.Plan, item.Order = plan.ID.String(), order
		item.ID = p.create(d, "item", item.Values())
		plan.Items = append(plan.Items, item)
	}
	p.create(d, "item", sessions.Item{Plan: "another", Order: "a"}.Values())
	plan.Items[0], plan.Items[1] = plan.Items[1], plan.Items[0]

	got, found := sessions.CurrentPlan(d)
	for i := range got.Items {
		if got.Items[i].Revision.IsZero() {
			t.Errorf("item %d has no revision", i)
		}
		if got.Items[i].SinceMS != p.wallMS-1 && got.Items[i].SinceMS != p.wallMS {
			t.Errorf("item %d is of its step since %d", i, got.Items[i].SinceMS)
		}
		got.Items[i].Revision, got.Items[i].SinceMS = plan.Items[i].Revision, 0
	}
	if !found || !reflect.DeepEqual(got, plan) {
		t.Errorf("plan %+v\nwant %+v", got, plan)
	}
	p.void(d, plan.Items[0].ID, "item")
	if got, _ = sessions.CurrentPlan(d); len(got.Items) != 2 || got.Items[0].Order != "b" {
		t.Errorf("with an item voided: %+v", got.Items)
	}
	p.void(d, plan.ID, "plan")
	if got, _ = sessions.CurrentPlan(d); got.Test != "older" {
		t.Errorf("with the plan voided: %+v", got)
	}
}

// TestItemRevision moves with every change of any field, by anyone, and only
// forward: a set tells by it what was on the phone.
func TestItemRevision(t *testing.T) {
	coach, client := newPen(t, 7), newPen(t, 9)
	d := coach.doc()
	plan := coach.create(d, "plan", sessions.Plan{AcceptedMS: 1}.Values())
	item := fullItem
	item.Plan = plan.String()
	id := coach.create(d, "item", item.Values())
	revision := func() string {
		got, _ := sessions.CurrentPlan(d)
		return got.Items[0].Revision.String()
	}
	seen := map[string]bool{revision(): true}
	changes := []struct {
		by    *pen
		field string
		value record.Value
	}{
		{coach, "holdMS", record.Int(12_000)},
		{client, "loadWorksLeftG", record.Int(10_000)},
		{coach, "holdMS", record.Int(10_000)},
		{coach, "of_a_later_version", record.Text("x")},
	}
	for i, c := range changes {
		c.by.wallMS = int64(2_000_000 + i)
		op := c.by.write(d, id, "item", c.field, c.value)
		if got := revision(); got != op.Stamp.String() || seen[got] {
			t.Errorf("after %s: revision %s, want the new %s", c.field, got, op.Stamp)
		}
		seen[revision()] = true
	}
	was := revision()
	late := newPen(t, 11)
	late.wallMS = 1_500_000
	behind := clone(t, d)
	late.write(behind, id, "item", "timeMS", record.Int(5))
	merge(t, d, behind)
	if got, _ := sessions.CurrentPlan(d); got.Items[0].Revision.String() < was {
		t.Errorf("revision went back from %s to %s", was, got.Items[0].Revision)
	}
}

func TestSplitReps(t *testing.T) {
	tests := []struct {
		text string
		want []int64
	}{
		{"5,4,3", []int64{5, 4, 3}}, {"", nil}, {"1", []int64{1}}, {"100", []int64{100}},
		{"0,101,-2,7", []int64{7}}, {"5, 4", []int64{5}}, {"5,,4", []int64{5, 4}},
		{"99999999999999999999", nil}, {"five", nil}, {"5.5", nil},
	}
	for _, tt := range tests {
		if got := sessions.SplitReps(tt.text); !reflect.DeepEqual(got, tt.want) {
			t.Errorf("SplitReps(%q) = %v, want %v", tt.text, got, tt.want)
		}
	}
	if got := sessions.JoinReps([]int64{5, 4, 3}); got != "5,4,3" {
		t.Errorf("JoinReps = %q", got)
	}
	if got := sessions.JoinReps(nil); got != "" {
		t.Errorf("JoinReps of nothing = %q", got)
	}
}

func TestDecisionValues(t *testing.T) {
	p := newPen(t, 7)
	d := p.doc()
	id := p.create(d, "decision", sessions.Decision{
		About: "i-1", State: sessions.Declined, Reason: "sore", Test: "t-1", Suggested: "progress",
		Chosen: "stay", Rules: "rule.x n=1", AtMS: 9,
	}.Values())
	r, _ := d.Record(id)
	for field, want := range map[string]string{
		"about": "i-1", "suggested": "progress", "chosen": "stay", "rules": "rule.x n=1",
		"state": "declined", "reason": "sore", "test": "t-1",
	} {
		if got, _ := r.Text(field); got != want {
			t.Errorf("%s = %q, want %q", field, got, want)
		}
	}
	if at, _ := r.Int("atMS"); at != 9 {
		t.Errorf("atMS = %d", at)
	}
	read := sessions.Decisions(d)
	if len(read) != 1 || read[0].ID != id || read[0].Chosen != "stay" || read[0].AtMS != 9 {
		t.Errorf("read back as %+v", read)
	}
}
