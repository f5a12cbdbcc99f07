package planning_test

import (
	"testing"

	"evenhold/internal/planning"
	"evenhold/internal/sessions"
)

// TestVisitOf: what was held on the same local day belongs together, whatever came first;
// of two holds of one kind the later one counts, and a slip not at all.
func TestVisitOf(t *testing.T) {
	b := newBook(t)
	b.test(10, 60_000, 70_000, sessions.StopPosition)
	hold := func(what string, startedMS, tzMin, heldMS int64, stop string) {
		b.add(sessions.KindTrunk, sessions.Trunk{
			What: what, StartedMS: startedMS, TZMin: tzMin, HeldMS: heldMS, Stop: stop,
		}.Values())
	}
	hold(sessions.Extensor, 10*dayMS+9_000_000, 0, 101_000, sessions.StopGaveUp)
	hold(sessions.Extensor, 10*dayMS+3_600_000, 0, 88_000, sessions.StopPosition)
	hold(sessions.Extensor, 10*dayMS+9_900_000, 0, 5_000, sessions.StopTesterError)
	// An hour before midnight of day 9 in UTC is day 10 two hours east of it.
	hold(sessions.Flexor, 10*dayMS-3_600_000, 120, 140_000, sessions.StopLimit)
	hold(sessions.Flexor, 11*dayMS, 0, 150_000, sessions.StopPosition)
	v := planning.VisitOf(b.doc, sessions.Tests(b.doc)[0])
	if s := v.Extensor.Hold.Seconds(); s != 101 || !v.Extensor.IsValue() {
		t.Errorf("extensor %v s, a value %v", s, v.Extensor.IsValue())
	}
	if s := v.Flexor.Hold.Seconds(); s != 140 || v.Flexor.IsValue() {
		t.Errorf("flexor %v s, a value %v", s, v.Flexor.IsValue())
	}
	if v.Left.Hold.Seconds() != 60 || v.Right.Hold.Seconds() != 70 {
		t.Errorf("sides %v, %v", v.Left, v.Right)
	}
}
