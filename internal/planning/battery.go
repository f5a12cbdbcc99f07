package planning

import (
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// Visit is the trunk battery of one visit.
type Visit struct {
	symmetry.Battery
	Held map[string]sessions.Trunk // the trunk holds, by what was held
}

// VisitOf gathers the battery of the visit that a test belongs to: its two sides, and the
// latest extensor and flexor hold of the same day where it was taken.
func VisitOf(d *record.Doc, t sessions.Test) Visit {
	v := Visit{Held: map[string]sessions.Trunk{}}
	for _, hold := range sessions.Trunks(d) {
		if dayIn(hold.StartedMS, hold.TZMin) == dayIn(t.StartedMS, t.TZMin) {
			v.Held[hold.What] = hold
		}
	}
	v.Extensor, v.Flexor = timedTrunk(v.Held[sessions.Extensor]), timedTrunk(v.Held[sessions.Flexor])
	left, _ := t.Last(sides.WorksLeft)
	right, _ := t.Last(sides.WorksRight)
	v.Left, v.Right = Timed(left), Timed(right)
	return v
}

func dayIn(ms, tzMin int64) int64 { return (ms + tzMin*60_000) / dayMS }

func timedTrunk(t sessions.Trunk) symmetry.Timed {
	return symmetry.Timed{Hold: milliseconds(t.HeldMS), Stop: symmetry.Stop(t.Stop)}
}
