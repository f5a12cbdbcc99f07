// Package twin finds records of two devices that may tell of one and the same event, and
// works out which of them count once a person has said that they do.
//
// It knows nothing of what the records are about: a candidate has a category, a span of
// time and values. It only proposes; what is joined, and what stays apart, comes in as
// what people said. Pure; whole numbers only, so every device reaches the same answer.
//
// Units: MS milliseconds, Permille thousandths.
package twin

import (
	"sort"

	"evenhold/sync/record"
)

const (
	// SlackMS widens a span at both ends: two people do not touch their phones in the
	// same instant. Our own choice, no source.
	SlackMS = 15_000
	// Least is the score from which a pair is proposed. Our own choice, no source.
	Least = 500

	// mostMS bounds what is taken for a time or a value, so that nothing overflows.
	mostMS = 1 << 48
)

// Candidate is one record that may tell of the same event as another device's.
type Candidate struct {
	ID       record.ID // its Device logged it
	Category string    // only equal ones are compared
	StartMS  int64     // from 1970 UTC
	LengthMS int64
	// Values are compared place by place; zero where a place says nothing.
	Values []int64
}

// Score is how alike two candidates are, and its working.
type Score struct {
	// OverlapPermille is the share of the shorter span, widened by SlackMS at both ends,
	// that the other span, widened alike, covers.
	OverlapPermille int64
	// ClosePermille is the smaller of two values in thousandths of the larger one: the
	// least of all places that both fill, 1000 if there is none.
	ClosePermille int64
	// Permille is OverlapPermille times ClosePermille, in thousandths.
	Permille int64
}

// Compare scores two candidates. The zero Score is that of two which cannot be twins:
// one device, two categories, or numbers that cannot be.
func Compare(a, b Candidate) Score {
	if a.ID.Device == b.ID.Device || a.Category != b.Category || !a.isSound() || !b.isSound() {
		return Score{}
	}
	from := max(a.StartMS, b.StartMS) - SlackMS
	until := min(a.StartMS+a.LengthMS, b.StartMS+b.LengthMS) + SlackMS
	if until <= from {
		return Score{}
	}
	shorter := min(a.LengthMS, b.LengthMS) + 2*SlackMS
	s := Score{OverlapPermille: (until - from) * 1000 / shorter, ClosePermille: 1000}
	for i := range min(len(a.Values), len(b.Values)) {
		if x, y := a.Values[i], b.Values[i]; x > 0 && y > 0 {
			s.ClosePermille = min(s.ClosePermille, min(x, y)*1000/max(x, y))
		}
	}
	s.Permille = s.OverlapPermille * s.ClosePermille / 1000
	return s
}

func (c Candidate) isSound() bool {
	sound := c.StartMS > 0 && c.StartMS < mostMS && c.LengthMS >= 0 && c.LengthMS < mostMS
	for _, v := range c.Values {
		sound = sound && v >= 0 && v < mostMS
	}
	return sound
}

// Proposal is a pair for a person to look at; A comes before B.
type Proposal struct {
	A, B  record.ID
	Score Score
}

// Propose returns the pairs that score Least or more, best first, ties in order of
// identifiers. Pairs that are joined or kept apart are left out, and so are pairs that
// would bring two records of one device together, or that better pairs already imply.
//
// The cost is that of sorting, and of comparing each candidate with those whose spans
// meet its own.
func Propose(all []Candidate, said Answers) []Proposal {
	// Package sort, not slices: one sorting routine for all types is less to download.
	var byStart []*Candidate
	for i := range all {
		if all[i].isSound() {
			byStart = append(byStart, &all[i])
		}
	}
	sort.Slice(byStart, func(i, j int) bool {
		a, b := byStart[i], byStart[j]
		return a.StartMS < b.StartMS || a.StartMS == b.StartMS && a.ID.Compare(b.ID) < 0
	})
	var pairs []Proposal
	for i, a := range byStart {
		until := a.StartMS + a.LengthMS + 2*SlackMS
		for _, b := range byStart[i+1:] {
			if b.StartMS >= until {
				break
			}
			if s := Compare(*a, *b); s.Permille >= Least && !said.isApart(a.ID, b.ID) {
				pairs = append(pairs, inOrder(a.ID, b.ID, s))
			}
		}
	}
	sort.Slice(pairs, func(i, j int) bool {
		p, q := pairs[i], pairs[j]
		if p.Score.Permille != q.Score.Permille {
			return p.Score.Permille > q.Score.Permille
		}
		return p.A.Compare(q.A) < 0 || p.A == q.A && p.B.Compare(q.B) < 0
	})
	groups := said.Groups()
	var kept []Proposal
	for _, p := range pairs {
		if groups.tryJoin(p.A, p.B) {
			kept = append(kept, p)
		}
	}
	return kept
}

func inOrder(a, b record.ID, s Score) Proposal {
	if a.Compare(b) > 0 {
		a, b = b, a
	}
	return Proposal{a, b, s}
}
