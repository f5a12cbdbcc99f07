package simulated

import (
	"math"

	"evenhold/internal/symmetry"
)

// Crowd is a kind of record and the people who have it.
type Crowd struct {
	Name   string
	People int
	Visits int
	Cut    float64        // how often a shoulder may end a hold, 0 to 1
	Truth  symmetry.Model // that the people are drawn from
	IsEven bool           // both sides are truly alike
}

// Tally counts the answers to a crowd. Over10 is how many truly differ by more than 10 %, and
// Said10 the sum of the probabilities that were told for it.
type Tally struct {
	Covered, Uneven, Even, Over10 int
	Said10                        float64
}

// Ask has each person of the crowd tested and judged by m.
func (c Crowd) Ask(chance Chance, m symmetry.Model) Tally {
	var t Tally
	for range c.People {
		truth := 0.0
		if !c.IsEven {
			truth = c.Truth.SideSD * chance.NormFloat64()
		}
		trials := NewPerson(chance, c.Truth, truth).Trials(c.Visits, c.Cut)
		told := symmetry.Compare(trials, m)
		if told.LogLow <= truth && truth <= told.LogHigh {
			t.Covered++
		}
		if math.Abs(truth) > -math.Log(0.9) {
			t.Over10++
		}
		t.Said10 += told.Over10
		switch told.Verdict {
		case symmetry.LargerThanNoise:
			t.Uneven++
		case symmetry.AboutEven:
			t.Even++
		}
	}
	return t
}

// Share is n of the crowd, in percent.
func (c Crowd) Share(n int) float64 { return 100 * float64(n) / float64(c.People) }

// each is how many people a crowd has.
const each = 2000

// cut is how often the arm or shoulder ended a hold: 42.5 % in "Intersession reliability and
// concurrent validity of isometric endurance tests for the lateral trunk muscles", J Sport Rehabil
// 2012;21(2):161.
const cut = 0.425

// Varied are crowds whose sides differ as the model says.
func Varied() []Crowd {
	m := symmetry.DefaultModel()
	return []Crowd{
		{Name: "one visit", People: each, Visits: 1, Truth: m},
		{Name: "one visit, shoulders stop some", People: each, Visits: 1, Cut: cut, Truth: m},
		{Name: "three visits", People: each, Visits: 3, Truth: m},
		{Name: "two visits, shoulders stop some", People: each, Visits: 2, Cut: cut, Truth: m},
	}
}

// Even are crowds whose sides are truly alike. The last one has a test noise at the worst end of
// the published range: 24.1 %, PLoS One 2025;20(6):e0324787.
func Even() []Crowd {
	m := symmetry.DefaultModel()
	noisy := m
	noisy.TrialSD, noisy.TrialSDLogSD = math.Log(1.241), 0
	all := []Crowd{
		{Name: "one visit", Visits: 1, Truth: m},
		{Name: "one visit, shoulders stop some", Visits: 1, Cut: cut, Truth: m},
		{Name: "two visits", Visits: 2, Truth: m},
		{Name: "six visits", Visits: 6, Truth: m},
		{Name: "four visits, shoulders stop some", Visits: 4, Cut: cut, Truth: m},
		{Name: "six visits at the noisy end", Visits: 6, Truth: noisy},
	}
	for i := range all {
		all[i].People, all[i].IsEven = each, true
	}
	return all
}
