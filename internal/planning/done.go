package planning

import (
	"slices"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// Done returns the finished sessions in which item's step was done or was due, oldest first,
// as a decision reads them: what was kept of what was asked, effort, and pain before,
// during and on the next morning, which the session after it says.
func Done(d *record.Doc, item sessions.Item) []progression.Done {
	return logOf(d).of(item)
}

// log is what Done reads of a record, read once for all items.
type log struct {
	doc       *record.Doc
	items     []sessions.Item
	done      []sessions.Session
	referrals []sessions.Referral
}

func logOf(d *record.Doc) log {
	return log{d, sessions.Items(d), sessions.Sessions(d), sessions.Referrals(d)}
}

func (l log) of(item sessions.Item) []progression.Done {
	w := work{
		doc: l.doc, present: item, referrals: l.referrals, same: map[string]bool{},
	}
	for _, i := range l.items {
		if i.Step == item.Step {
			w.items = append(w.items, i)
		}
	}
	var all []progression.Done
	for n, s := range l.done {
		if s.FinishedMS == 0 {
			continue
		}
		one := progression.Done{
			Day:    dayOf(s),
			Effort: scaleOf(s.Effort), Before: scaleOf(s.PainBefore), Pain: scaleOf(s.Pain),
		}
		if n+1 < len(l.done) {
			one.Morning = scaleOf(l.done[n+1].PainMorning)
		}
		if w.fill(&one, s) {
			all = append(all, one)
		}
	}
	return all
}

// work is an exercise and its like in earlier plans.
type work struct {
	doc       *record.Doc
	present   sessions.Item
	items     []sessions.Item // of the same step
	referrals []sessions.Referral
	same      map[string]bool // revisions, asked before, at the present dose
}

func (w work) isSame(revision string) bool {
	is, known := w.same[revision]
	if !known {
		is = sessions.IsDoseOf(w.doc, w.present, revision)
		w.same[revision] = is
	}
	return is
}

// fill counts the repetitions asked and kept, and returns false for a session in which the
// exercise was neither done nor due. A set of a revision with other numbers than the present
// ones was done at another dose. Of an item that is another step by now only what was kept
// is known.
func (w work) fill(one *progression.Done, s sessions.Session) bool {
	one.SameDose = s.Plan == w.present.Plan
	isDone := false
	for _, set := range s.Sets {
		if set.Step != w.present.Step {
			continue
		}
		isDone = true
		one.SameDose = one.SameDose && w.isSame(set.Asked)
		one.StoppedByPain = one.StoppedByPain || set.Stop == sessions.StopPain
		if set.Stop == "" || set.Hand == "" {
			one.Kept += int(set.Reps)
		}
	}
	for _, i := range w.items {
		if i.Plan == s.Plan && (isDone || w.wasDue(i, s)) {
			one.Asked += asked(i)
		}
	}
	one.Asked = max(one.Asked, one.Kept)
	return isDone || one.Asked > 0
}

// wasDue reports whether an item stood in the plan when a session was begun, and did not
// wait for a clinician.
func (w work) wasDue(i sessions.Item, s sessions.Session) bool {
	for _, r := range w.referrals {
		if r.Held(i.Step, s.StartedMS) {
			return false
		}
	}
	return i.SinceMS <= s.StartedMS
}

// asked is how many repetitions an item asks of both sides together. A side of a carry or lift
// without a weight is not led, so nothing is asked of it.
func asked(i sessions.Item) int {
	var n, least int64
	if len(i.Reps) > 0 {
		least = slices.Min(i.Reps)
	}
	hold := isHold(i.Step)
	for _, w := range [...]sides.Working{sides.WorksLeft, sides.WorksRight} {
		if !hold && i.LoadG[w] <= 0 {
			continue
		}
		for _, reps := range i.Reps {
			n += reps
		}
		if w == i.Weaker {
			n += least * min(max(i.ExtraSets, 0), sessions.MostExtraSets)
		}
	}
	return int(n)
}

func scaleOf(said int64) progression.Scale {
	if said < 0 {
		return progression.Scale{}
	}
	return progression.Rated(int(said))
}
