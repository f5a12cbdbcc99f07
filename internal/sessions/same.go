package sessions

import (
	"sort"

	"evenhold/sync/record"
	"evenhold/sync/twin"
)

// What an answer about a pair says.
const (
	saidSame  = "same"
	saidApart = "apart"
)

// SameValues returns "these two are one effort, and keep counts" as the fields of a new
// record.
func SameValues(a, b, keep record.ID, atMS int64) []record.FieldValue {
	f := pairValues(a, b, saidSame, atMS)
	f.text("keep", keep.String())
	return f
}

// ApartValues returns "these two are two efforts" as the fields of a new record.
func ApartValues(a, b record.ID, atMS int64) []record.FieldValue {
	return pairValues(a, b, saidApart, atMS)
}

func pairValues(a, b record.ID, answer string, atMS int64) fields {
	var f fields
	f.text("a", a.String())
	f.text("b", b.String())
	f.text("answer", answer)
	f.count("atMS", atMS)
	return f
}

// AnswersOn returns the records that hold what people said of a pair, taken-back ones
// left out.
func AnswersOn(d *record.Doc, a, b record.ID) []record.ID {
	var all []record.ID
	for _, r := range live(d, KindSame) {
		said := answerOf(r)
		if said.A == a && said.B == b || said.A == b && said.B == a {
			all = append(all, r.ID())
		}
	}
	return all
}

// Answers returns all that people said of pairs in a client document.
func Answers(d *record.Doc) twin.Answers {
	var all []twin.Answer
	for _, r := range live(d, KindSame) {
		all = append(all, answerOf(r))
	}
	return twin.Heard(all)
}

// answerOf reads one answer; what cannot be read names no pair.
func answerOf(r *record.Record) twin.Answer {
	a, errA := record.ParseID(text(r, "a"))
	b, errB := record.ParseID(text(r, "b"))
	if errA != nil || errB != nil {
		return twin.Answer{}
	}
	keep, _ := record.ParseID(text(r, "keep")) // without one it says nothing
	return twin.Answer{A: a, B: b, Same: text(r, "answer") == saidSame, Keep: keep}
}

// Proposals returns the sets, and the holds of tests, that two phones may have logged of
// one effort: on one working side, of one variant, at one time, alike in value. Nothing
// is joined until a person says so.
func Proposals(d *record.Doc) []twin.Proposal {
	var all []twin.Candidate
	for _, r := range live(d, KindSet) {
		s := setOf(r)
		// Of a series the seconds held, of a carry its own length; rests are not told.
		all = append(all, twin.Candidate{
			ID: s.ID, Category: "set/" + s.Step + "/" + string(s.Working),
			StartMS: s.StartedMS, LengthMS: min(max(s.HeldMS, s.TimeMS, 0), MaxHoldMS),
			Values: []int64{s.HeldMS, s.LoadG, s.DistanceMM, s.TimeMS, s.Reps},
		})
	}
	steps := map[string]string{}
	for _, r := range live(d, KindTest) {
		steps[r.ID().String()] = text(r, "step")
	}
	for _, r := range live(d, KindTrial) {
		t := trialOf(r)
		all = append(all, twin.Candidate{
			ID: t.ID, Category: "trial/" + steps[t.Test] + "/" + string(t.Working),
			StartMS: t.StartedMS, LengthMS: min(max(t.HeldMS, 0), MaxHoldMS),
			Values: []int64{t.HeldMS},
		})
	}
	return twin.Propose(all, Answers(d))
}

// Effort is one set or one hold of a test: exactly one of both is there.
type Effort struct {
	Set   *Set
	Trial *Trial
}

// EffortOf returns the set or hold with that identifier, and false if there is none or
// it is voided.
func EffortOf(d *record.Doc, id record.ID) (Effort, bool) {
	r, found := d.Record(id)
	if !found || r.IsVoided() {
		return Effort{}, false
	}
	switch r.Kind() {
	case KindSet:
		s := setOf(r)
		return Effort{Set: &s}, true
	case KindTrial:
		t := trialOf(r)
		return Effort{Trial: &t}, true
	}
	return Effort{}, false
}

// Joined is one effort that several phones logged, joined by a person.
type Joined struct {
	Counts record.ID
	All    []record.ID // those that are not voided, the one that counts among them
}

// JoinedIn returns the joined efforts of a client document, in order of identifiers.
func JoinedIn(d *record.Doc) []Joined {
	groups := Answers(d).Groups()
	isLive := func(id record.ID) bool { _, found := EffortOf(d, id); return found }
	var all []Joined
	for _, r := range live(d, KindSame) {
		counts, found := groups.Counted(answerOf(r).A, isLive)
		if !found || hasCounted(all, counts) {
			continue
		}
		j := Joined{Counts: counts}
		for _, id := range groups.Of(counts) {
			if isLive(id) {
				j.All = append(j.All, id)
			}
		}
		if len(j.All) > 1 {
			all = append(all, j)
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].Counts.Compare(all[j].Counts) < 0 })
	return all
}

func hasCounted(all []Joined, id record.ID) bool {
	for _, j := range all {
		if j.Counts == id {
			return true
		}
	}
	return false
}

// joined finds which effort counts for each; nil when nothing was joined.
type joined map[record.ID]record.ID

func joinedOf(d *record.Doc) joined {
	var counts joined
	for _, j := range JoinedIn(d) {
		for _, id := range j.All {
			if counts == nil {
				counts = joined{}
			}
			counts[id] = j.Counts
		}
	}
	return counts
}

// of returns the effort that counts for id, itself if it was not joined.
func (j joined) of(id record.ID) record.ID {
	if counts, found := j[id]; found {
		return counts
	}
	return id
}

// once leaves the sets that do not count out. A session whose every effort another one
// tells too is told with that one: the worse pain and effort stand, so that no report of
// pain is lost.
func (j joined) once(all []Session) []Session {
	if j == nil {
		return all
	}
	told := make([]map[record.ID]bool, len(all))
	for i, s := range all {
		told[i] = map[record.ID]bool{}
		for _, set := range s.Sets {
			told[i][j.of(set.ID)] = true
		}
	}
	into := make([]int, len(all))
	for i := range all {
		into[i] = i
		for k := range all {
			if tellsMore(told, k, i) && (into[i] == i || tellsMore(told, k, into[i])) {
				into[i] = k
			}
		}
	}
	out := make([]Session, len(all))
	for i, s := range all {
		out[i] = s
		out[i].Sets = nil
	}
	for i, s := range all {
		home := &out[into[i]]
		for _, set := range s.Sets {
			if j.of(set.ID) == set.ID {
				home.Sets = append(home.Sets, set)
			}
		}
		if into[i] != i {
			home.takeIn(s)
		}
	}
	var kept []Session
	for i, s := range out {
		if into[i] != i {
			continue
		}
		sort.SliceStable(s.Sets, func(x, y int) bool {
			return s.Sets[x].StartedMS < s.Sets[y].StartedMS
		})
		kept = append(kept, s)
	}
	return kept
}

// tellsMore reports whether session k tells every effort of session i, and more of them or
// came first.
func tellsMore(told []map[record.ID]bool, k, i int) bool {
	if k == i || len(told[i]) == 0 {
		return false
	}
	for id := range told[i] {
		if !told[k][id] {
			return false
		}
	}
	return len(told[k]) > len(told[i]) || k < i
}

func (s *Session) takeIn(other Session) {
	s.Also = append(s.Also, other.ID)
	s.Effort = max(s.Effort, other.Effort)
	if other.Pain > s.Pain {
		s.Pain, s.PainPlace = other.Pain, other.PainPlace
	}
	s.FinishedMS = max(s.FinishedMS, other.FinishedMS)
}

// onceEach leaves the holds that do not count out. Tests with a joined hold are one: the
// first one's facts stand, with the holds of all.
func (j joined) onceEach(all []Test) []Test {
	if j == nil {
		return all
	}
	home := map[record.ID]int{} // of each effort: the first test that tells it
	var kept []Test
	at := map[int]int{}
	for i, t := range all {
		to := i
		for _, trial := range t.Trials {
			if first, found := home[j.of(trial.ID)]; found {
				to = first
				break
			}
		}
		for _, trial := range t.Trials {
			home[j.of(trial.ID)] = to
		}
		if to == i {
			at[i] = len(kept)
			one := t
			one.Trials = nil
			kept = append(kept, one)
		} else {
			one := &kept[at[to]]
			one.Also = append(one.Also, t.ID)
		}
		one := &kept[at[to]]
		for _, trial := range t.Trials {
			if j.of(trial.ID) == trial.ID {
				one.Trials = append(one.Trials, trial)
			}
		}
	}
	for i := range kept {
		trials := kept[i].Trials
		sort.SliceStable(trials, func(x, y int) bool {
			return trials[x].StartedMS < trials[y].StartedMS
		})
	}
	return kept
}
