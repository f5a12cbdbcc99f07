package planning

import (
	"time"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// The span between two tests that are read as one state tested twice: from a day to
// three weeks, with no session begun between them (our own choice, no source).
const (
	retestFromMS = 1 * dayMS
	retestToMS   = 21 * dayMS
)

// Retests returns a client's tests that were done twice with nothing between, oldest
// first. No test is used twice, and a hold that is only a lower bound is left 0.
func Retests(d *record.Doc) []symmetry.Retest {
	tests := sessions.Tests(d)
	var done []sessions.Session // read when a pair needs it: most records have none
	var all []symmetry.Retest
	for i := 0; i+1 < len(tests); i++ {
		first, second := tests[i], tests[i+1]
		apart := second.StartedMS - first.StartedMS
		if first.Step != second.Step || apart < retestFromMS || apart > retestToMS {
			continue
		}
		if done == nil {
			done = sessions.Sessions(d)
		}
		if hasSession(done, first.StartedMS, second.StartedMS) {
			continue
		}
		all = append(all, symmetry.Retest{
			FirstLeft: valueOf(first, sides.WorksLeft), FirstRight: valueOf(first, sides.WorksRight),
			SecondLeft:  valueOf(second, sides.WorksLeft),
			SecondRight: valueOf(second, sides.WorksRight),
		})
		i++
	}
	return all
}

func hasSession(done []sessions.Session, fromMS, toMS int64) bool {
	for _, s := range done {
		if s.StartedMS >= fromMS && s.StartedMS < toMS {
			return true
		}
	}
	return false
}

// valueOf is a side's hold where it is a value, else 0.
func valueOf(t sessions.Test, w sides.Working) time.Duration {
	if trial, held := t.Last(w); held && trial.IsValue() {
		return time.Duration(trial.HeldMS) * time.Millisecond
	}
	return 0
}

// Trend follows one working side through the tests of the last one's variant.
func Trend(tests []sessions.Test, w sides.Working, m symmetry.Model) symmetry.Trend {
	var dated []symmetry.Dated
	for _, t := range tests {
		trial, held := t.Last(w)
		if !held || t.Step != tests[len(tests)-1].Step {
			continue
		}
		timed := Timed(trial)
		dated = append(dated, symmetry.Dated{
			Day:  int((t.StartedMS + t.TZMin*60_000) / dayMS),
			Hold: timed.Hold, Stop: timed.Stop,
		})
	}
	return symmetry.TrendOf(dated, m)
}
