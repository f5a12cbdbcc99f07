package planning

import (
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// Design note. A set of holds is fitted so that the weaker side ends its last set within
// a band of predicted fatigue, and no set goes past a ceiling. Carries within their
// guards tire the trunk little in the model, so they are chosen by the share of capacity
// that their weight asks and are not fitted to the band. Band, ceiling, shares and the
// order in which numbers give way are ours.

// Band is where the weaker side is meant to end: parts of the way to failing, 0 to 1.
type Band struct{ Low, High float64 }

// The bands of a plan: Steady, and Easy when pain asks for care.
var (
	Steady = Band{.35, .55}
	Easy   = Band{.15, .35}
)

// ceiling is what no set's end may pass.
const ceiling = .85

// carryShare is the part of a side's capacity that a suggested carry or lift asks.
const carryShare = .20

// Numbers of an item that a coach can pin, so that a fit leaves them alone.
const (
	PinHold    = "holdMS"
	PinReps    = "reps"
	PinSets    = "sets"
	PinRestRep = "restRepMS"
	PinRestSet = "restSetMS"
)

// IsFitted reports whether field is one that a fit may change.
func IsFitted(field string) bool {
	switch field {
	case PinHold, PinReps, PinSets, PinRestRep, PinRestSet:
		return true
	}
	return false
}

// HasPin reports whether field of item is pinned.
func HasPin(item sessions.Item, field string) bool {
	return slices.Contains(strings.Split(item.Pinned, ","), field)
}

// SetPin pins field of item, or takes its pin out.
func SetPin(item sessions.Item, field string, isPinned bool) sessions.Item {
	var kept []string
	for _, f := range strings.Split(item.Pinned, ",") {
		if f != "" && f != field {
			kept = append(kept, f)
		}
	}
	if isPinned {
		kept = append(kept, field)
	}
	sort.Slice(kept, func(i, j int) bool { return kept[i] < kept[j] })
	item.Pinned = strings.Join(kept, ",")
	return item
}

// Fit is how a fitted exercise ends on the weaker side, as expected.
type Fit struct {
	Works    sides.Working
	Fatigue  float64 // at the end of the last set, 0 to 1
	Hardest  float64 // at the most tired end of a repetition
	IsInBand bool
	Tried    int // doses that were compared
}

// FitHolds returns the item at place at of items with the numbers that are not pinned
// chosen so that the weaker side ends within band, as near to the starting dose of the
// ladder as that allows: repetitions give way first, then the rest between sets, sets and
// seconds. A step that is too easy for the band keeps its dose. It changes
// nothing, with false, for an item that is no series of holds or a capacity that is not
// known.
func (c Capacities) FitHolds(
	e progression.Edition, items []sessions.Item, at int, band Band,
) (sessions.Item, Fit, bool) {
	item := items[at]
	step, found := e.Step(item.Step)
	side := c.weakerOf()
	if !found || step.Side != progression.ByDown || !side.IsKnown() || len(item.Reps) == 0 {
		return item, Fit{}, false
	}
	trial := slices.Clone(items[:at+1])
	spans, points, err := layOut(side, trial)
	if err != nil {
		return item, Fit{}, false
	}
	search := search{side: side, before: trial[:at], band: band, step: step, bestCost: math.Inf(1)}
	search.prepare(spans, points, at)
	for _, reps := range choices(HasPin(item, PinReps), item.Reps[0], repChoices(step)) {
		for _, sets := range choices(HasPin(item, PinSets), int64(len(item.Reps)), setChoices) {
			series := Descending(reps, int(sets))
			for _, restMS := range choices(HasPin(item, PinRestSet), item.RestSetMS, restChoices) {
				for _, holdMS := range choices(HasPin(item, PinHold), item.HoldMS, holdChoices(step)) {
					candidate := item
					candidate.HoldMS, candidate.RestSetMS = holdMS, restMS
					candidate.Reps = series
					search.try(candidate)
				}
			}
		}
	}
	if search.fit.Fatigue < band.Low && !search.fit.IsInBand {
		// Too easy whatever is done of it: more of it is no answer, a harder step is.
		search.bestCost = math.Inf(1)
		search.try(item)
	}
	return search.best, search.fit, !math.IsInf(search.bestCost, 1)
}

var (
	setChoices  = []int64{1, 2, 3, 4}
	restChoices = []int64{30_000, 45_000, 60_000, 75_000, 90_000, 120_000}
)

func choices(isPinned bool, now int64, all []int64) []int64 {
	if isPinned {
		return []int64{now}
	}
	return all
}

// repChoices run from one to the exit gate of the step.
func repChoices(s progression.Step) []int64 {
	most := 6
	if len(s.Exit.Reps) > 0 {
		most = s.Exit.Reps[0]
	}
	var all []int64
	for n := 1; n <= most; n++ {
		all = append(all, int64(n))
	}
	return all
}

// holdChoices are up to four seconds under the ladder's hold, never over: build by adding
// repetitions, not seconds (from memory).
func holdChoices(s progression.Step) []int64 {
	var all []int64
	for n := max(s.Start.HoldS-4, 2); n < s.Start.HoldS; n++ {
		all = append(all, int64(n)*1000)
	}
	return append(all, int64(s.Start.HoldS)*1000)
}

// Descending makes a series of sets, each one repetition shorter than the one before,
// down to one (practice; its origin is from memory).
func Descending(first int64, sets int) []int64 {
	reps := make([]int64, max(sets, 1))
	for i := range reps {
		reps[i] = max(first-int64(i), 1)
	}
	return reps
}

// search compares doses of one exercise.
type search struct {
	side     loading.Capacity
	before   []sessions.Item
	band     Band
	step     progression.Step
	prefix   []loading.Span // what comes before the exercise
	demand   loading.Demand
	spans    []loading.Span
	tired    []float64
	best     sessions.Item
	fit      Fit
	bestCost float64
	tried    int
}

func (s *search) prepare(spans []loading.Span, points []placed, at int) {
	prefix, _, _ := layOut(s.side, s.before)
	s.prefix = prefix
	for _, p := range points {
		if p.Item == at {
			s.demand = spans[p.at].Demand
		}
	}
}

// try lays one dose out and keeps it when it costs least.
func (s *search) try(item sessions.Item) {
	s.tried++
	change := s.change(item)
	if change >= s.bestCost {
		return // in the band or not, it cannot be better
	}
	last := s.layOut(item)
	if cap(s.tired) < len(s.spans) {
		s.tired = make([]float64, 2*len(s.spans))
	}
	tired := s.tired[:len(s.spans)]
	done, err := s.side.Expected(s.spans, tired)
	if err != nil || last < 0 {
		return
	}
	fit := Fit{Works: s.side.Works, Fatigue: tired[last], Tried: s.tried}
	for i, span := range s.spans[len(s.prefix):] {
		if span.Demand.MomentNM > 0 {
			fit.Hardest = max(fit.Hardest, tired[len(s.prefix)+i])
		}
	}
	cost := change + s.miss(fit, done)
	fit.IsInBand = cost < outOfBand
	if cost < s.bestCost {
		s.best, s.fit, s.bestCost = item, fit, cost
	}
	s.fit.Tried = s.tried
}

// layOut puts the spans of one dose into s.spans, as sessions.Turns leads it, and returns
// the place of the last hold; it takes no memory of its own, for it runs for each dose.
func (s *search) layOut(item sessions.Item) (last int) {
	s.spans, last = append(s.spans[:0], s.prefix...), -1
	first := item.First
	if first == "" {
		first = sides.WorksLeft
	}
	least := slices.Min(item.Reps)
	for n := range item.Reps {
		for _, w := range [2]sides.Working{first, first.Other()} {
			last = s.addSet(item, w, item.Reps[n], last)
		}
	}
	if item.Weaker != "" {
		for range min(max(item.ExtraSets, 0), sessions.MostExtraSets) {
			last = s.addSet(item, item.Weaker, least, last)
		}
	}
	return last
}

func (s *search) addSet(item sessions.Item, w sides.Working, reps int64, last int) int {
	rest, hold := milliseconds(item.RestSetMS), milliseconds(item.HoldMS)
	between := milliseconds(item.RestRepMS)
	ready := milliseconds(sessions.ReadyMS)
	if w != s.side.Works {
		work := ready + time.Duration(reps)*hold + time.Duration(reps-1)*between
		s.spans = append(s.spans, loading.Span{Length: work + rest})
		return last
	}
	s.spans = append(s.spans, loading.Span{Length: ready})
	for rep := range reps {
		s.spans = append(s.spans, loading.Span{Length: hold, Demand: s.demand})
		last = len(s.spans) - 1
		if rep+1 < reps && between > 0 {
			s.spans = append(s.spans, loading.Span{Length: between})
		}
	}
	s.spans = append(s.spans, loading.Span{Length: rest})
	return last
}

// outOfBand is more than any change of dose can cost.
const outOfBand = 1000

// change is what it costs to be off the ladder's starting dose.
func (s *search) change(item sessions.Item) float64 {
	start := s.step.Start
	away := func(now, then int64, each float64) float64 {
		return math.Abs(float64(now-then)) * each
	}
	return away(item.Reps[0], int64(start.Reps[0]), 1) +
		away(int64(len(item.Reps)), int64(len(start.Reps)), 3) +
		away(item.RestSetMS, int64(start.RestBetweenSetsS)*1000, 1.5/15_000) +
		away(item.HoldMS, int64(start.HoldS)*1000, 4./1000)
}

// miss is what it costs to end outside the band, or not to end at all.
func (s *search) miss(fit Fit, done bool) float64 {
	cost := 0.0
	gap := max(s.band.Low-fit.Fatigue, fit.Fatigue-s.band.High, fit.Hardest-ceiling, 0)
	if gap > 0 || !done {
		cost += outOfBand * (1 + 10*gap)
	}
	if !done {
		cost += 100 * outOfBand
	}
	return cost
}

// CarryFor finds the weight of a step that asks the planned share of one side's capacity.
func CarryFor(c loading.Capacity, step progression.Step, implementsG []int64) (
	loading.Carry, error) {
	return c.CarryLoad(loading.Posture(step.Posture), carryShare, float64(step.MaxPercent)/100,
		implementsG)
}

// Weigh returns item with the weight that asks the planned share of the weaker side's
// capacity, the same in both hands, rounded down to implementsG within the step's guard,
// and how each working side's weight was chosen; false for an item without a weight or
// while the capacity is not known.
func (c Capacities) Weigh(item sessions.Item, implementsG []int64) (
	sessions.Item, map[sides.Working]loading.Carry, bool) {
	step, found := progression.StepByID(item.Step)
	if !found || step.Side != progression.ByHand || !c.Left.IsKnown() || !c.Right.IsKnown() {
		return item, nil, false
	}
	carries := map[sides.Working]loading.Carry{}
	lightestG := int64(math.MaxInt64)
	for _, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
		carry, err := CarryFor(c.Of(w), step, implementsG)
		if err != nil {
			return item, nil, false
		}
		carries[w] = carry
		lightestG = min(lightestG, carry.LoadG)
	}
	item.LoadG = map[sides.Working]int64{
		sides.WorksLeft: lightestG, sides.WorksRight: lightestG,
	}
	return item, carries, true
}
