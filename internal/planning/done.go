package planning

import (
	"slices"

	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/sync/record"
)

// Done returns the finished sessions in which item's step was due, oldest first, as
// a decision reads them: what was kept of what was asked, effort, and pain before,
// during and on the next morning, which the session after it says.
func Done(d *record.Doc, item sessions.Item) []progression.Done {
	items := map[string]sessions.Item{}
	plans := map[string]bool{}
	for _, i := range sessions.Items(d) {
		if i.Step == item.Step {
			items[i.ID.String()] = i
			plans[i.Plan] = true
		}
	}
	var all []progression.Done
	done := sessions.Sessions(d)
	for n, s := range done {
		if s.FinishedMS == 0 || !plans[s.Plan] {
			continue
		}
		one := progression.Done{
			Day:    dayOf(s),
			Effort: scaleOf(s.Effort), Before: scaleOf(s.PainBefore), Pain: scaleOf(s.Pain),
		}
		if n+1 < len(done) {
			one.Morning = scaleOf(done[n+1].PainMorning)
		}
		fill(&one, s, items, item)
		if one.Asked > 0 {
			all = append(all, one)
		}
	}
	return all
}

// fill counts the repetitions asked and kept. A set of another revision than the
// present one was done at another dose.
func fill(one *progression.Done, s sessions.Session, items map[string]sessions.Item,
	present sessions.Item) {
	one.SameDose = s.Plan == present.Plan
	for _, i := range items {
		if i.Plan == s.Plan {
			one.Asked += asked(i)
		}
	}
	for _, set := range s.Sets {
		if _, due := items[set.Item]; !due {
			continue
		}
		one.SameDose = one.SameDose && set.Asked == present.Revision.String()
		one.StoppedByPain = one.StoppedByPain || set.Stop == sessions.StopPain
		if set.Stop == "" || set.Hand == "" {
			one.Kept += int(set.Reps)
		}
	}
}

// asked is how many repetitions an item asks of both sides together.
func asked(i sessions.Item) int {
	var n, least int64
	if len(i.Reps) > 0 {
		least = slices.Min(i.Reps)
	}
	for _, reps := range i.Reps {
		n += 2 * reps
	}
	return int(n + least*min(max(i.ExtraSets, 0), sessions.MostExtraSets))
}

func scaleOf(said int64) progression.Scale {
	if said < 0 {
		return progression.Scale{}
	}
	return progression.Rated(int(said))
}
