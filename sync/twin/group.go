package twin

import (
	"sort"

	"evenhold/sync/record"
)

// Answer is what one person said of a pair.
type Answer struct {
	A, B record.ID
	Same bool      // one event: they are joined
	Keep record.ID // of a joined pair, the one that counts
}

// Answers is all that was said. A pair of which people said both stays apart until they
// agree, so that nothing stops counting while they do not.
type Answers struct {
	same  map[pair][]Answer
	apart map[pair]bool
}

type pair struct{ a, b record.ID }

func pairOf(a, b record.ID) pair {
	if a.Compare(b) > 0 {
		a, b = b, a
	}
	return pair{a, b}
}

// Heard gathers what was said, in any order. Answers that name no pair, or that keep
// neither of the two, are left out.
func Heard(all []Answer) Answers {
	said := Answers{same: map[pair][]Answer{}, apart: map[pair]bool{}}
	for _, one := range all {
		p := pairOf(one.A, one.B)
		switch {
		case p.a == p.b:
		case !one.Same:
			said.apart[p] = true
		case one.Keep == p.a || one.Keep == p.b:
			said.same[p] = append(said.same[p], one)
		}
	}
	return said
}

// IsDisputed reports whether people said both of a pair.
func (s Answers) IsDisputed(a, b record.ID) bool {
	p := pairOf(a, b)
	return s.apart[p] && len(s.same[p]) > 0
}

// isApart reports whether a pair was declined and nobody said otherwise.
func (s Answers) isApart(a, b record.ID) bool {
	p := pairOf(a, b)
	return s.apart[p] && len(s.same[p]) == 0
}

// Groups are the records that were joined, directly or in a chain.
type Groups struct {
	of     map[record.ID]*group
	passed map[record.ID]bool // over which another of its pair was chosen
}

type group struct{ members []record.ID }

// Groups returns what is joined.
func (s Answers) Groups() *Groups {
	g := &Groups{of: map[record.ID]*group{}, passed: map[record.ID]bool{}}
	for p, answers := range s.same { // order cannot show: joining is a union of sets
		if s.apart[p] {
			continue
		}
		g.join(p.a, p.b)
		for _, one := range answers {
			if one.Keep == p.a {
				g.passed[p.b] = true
			} else {
				g.passed[p.a] = true
			}
		}
	}
	return g
}

func (g *Groups) members(id record.ID) []record.ID {
	if known := g.of[id]; known != nil {
		return known.members
	}
	return []record.ID{id}
}

func (g *Groups) join(a, b record.ID) {
	if known := g.of[a]; known != nil && known == g.of[b] {
		return
	}
	all := append(g.Of(a), g.members(b)...)
	sort.Slice(all, func(i, j int) bool { return all[i].Compare(all[j]) < 0 })
	one := &group{all}
	for _, id := range all {
		g.of[id] = one
	}
}

// tryJoin joins two unless they are joined or a device would stand in the group twice:
// one device does not log one event twice.
func (g *Groups) tryJoin(a, b record.ID) bool {
	if known := g.of[a]; known != nil && known == g.of[b] {
		return false
	}
	for _, x := range g.members(a) {
		for _, y := range g.members(b) {
			if x.Device == y.Device {
				return false
			}
		}
	}
	g.join(a, b)
	return true
}

// Of returns all that tell of one event with id, itself among them, in order of
// identifiers.
func (g *Groups) Of(id record.ID) []record.ID { return append([]record.ID(nil), g.members(id)...) }

// Counted returns the one of id's group that counts: of those that isLive, the first over
// which no other was chosen, or the first of all if each was passed over; false if
// none is live.
func (g *Groups) Counted(id record.ID, isLive func(record.ID) bool) (record.ID, bool) {
	first, found := record.ID{}, false
	for _, member := range g.members(id) {
		if !isLive(member) {
			continue
		}
		if !g.passed[member] {
			return member, true
		}
		if !found {
			first, found = member, true
		}
	}
	return first, found
}
