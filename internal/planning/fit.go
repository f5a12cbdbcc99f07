package planning

import (
	"math"
	"slices"
	"sort"
	"time"

	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// Fit is how a fitted exercise ends on the weaker side, as expected.
type Fit struct {
	Works    sides.Working
	Fatigue  float64 // at the end of the last set, 0 to 1
	Hardest  float64 // at the most tired end of a repetition
	IsInBand bool    // of a carry or lift: not above the band
	Tried    int     // doses that were compared
}

// Fit returns the item at place at of items with the numbers that are not pinned chosen so
// that the weaker side ends within band, as near to the dose of near as that allows:
// repetitions and the time of a carry give way first, then the rests, sets and the seconds
// of a hold. The weight stays: see Weigh. A series too easy for the band keeps its dose, and
// a carry or lift, which tires the trunk little, need only not end above it. It changes
// nothing, with false, for a capacity that is not known and an item without sets.
func (c Capacities) Fit(
	e progression.Edition, items []sessions.Item, at int, band Band, near sessions.Item,
) (sessions.Item, Fit, bool) {
	s, ok := c.searchOf(e, items, at, band)
	if !ok || len(near.Reps) == 0 {
		return items[at], Fit{}, false
	}
	s.near = near
	s.all(items[at])
	if s.fit.Fatigue < band.Low && !s.fit.IsInBand {
		// Too easy whatever is done of it: more of it is no answer, a harder step is.
		s.bestCost = math.Inf(1)
		s.try(items[at])
	}
	return s.best, s.fit, !math.IsInf(s.bestCost, 1)
}

// Ends tells how the item at place at of items ends on the weaker side, as it stands.
func (c Capacities) Ends(
	e progression.Edition, items []sessions.Item, at int, band Band,
) (Fit, bool) {
	s, ok := c.searchOf(e, items, at, band)
	if !ok {
		return Fit{}, false
	}
	s.near = items[at]
	s.try(items[at])
	return s.fit, !math.IsInf(s.bestCost, 1)
}

// FitNext fits the dose of another step that a decision suggests in the place at of items; a
// suggestion at the present step stays as it is.
func (c Capacities) FitNext(p Practice, items []sessions.Item, at int, n Next, band Band) Next {
	next := n.Decision.Next
	if next == nil || next.StepID == n.Item.Step {
		return n
	}
	series := slices.Clone(items)
	series[at] = p.Item(*next, 0)
	fitted, _, ok := c.Fit(p.Edition, series, at, band, series[at])
	if ok {
		dose := suggested(fitted)
		dose.StepVersion, dose.Rules, dose.Working = next.StepVersion, next.Rules, next.Working
		n.Decision.Next = &dose
	}
	return n
}

// search compares doses of one exercise.
type search struct {
	side     loading.Capacity
	band     Band
	step     progression.Step
	near     sessions.Item  // the dose to stay near to
	prefix   []loading.Span // what comes before the exercise
	demand   loading.Demand
	spans    []loading.Span
	tired    []float64
	best     sessions.Item
	fit      Fit
	bestCost float64
	tried    int
}

func (c Capacities) searchOf(
	e progression.Edition, items []sessions.Item, at int, band Band,
) (*search, bool) {
	item, side := items[at], c.weakerOf()
	step, found := e.Step(item.Step)
	if !found || !side.IsKnown() || len(item.Reps) == 0 {
		return nil, false
	}
	s := &search{side: side, band: band, step: step, bestCost: math.Inf(1)}
	prefix, _, errBefore := layOut(side, items[:at])
	demand, err := demandOf(side, item.Step, item.LoadG[side.Works])
	s.prefix, s.demand = prefix, demand
	return s, err == nil && errBefore == nil
}

// all tries every dose of item that its pins allow, those nearest to the wanted one first.
func (s *search) all(item sessions.Item) {
	near := s.near
	nearLength, length := *lengthIn(&near, s.step), *lengthIn(&item, s.step)
	lengths := choices(HasPin(item, lengthPin(near, s.step)), length, nearLength,
		s.lengths(nearLength))
	between := choices(HasPin(item, PinRestRep), item.RestRepMS, near.RestRepMS,
		[]int64{near.RestRepMS + 2000, near.RestRepMS + 4000})
	if s.step.Side == progression.ByHand {
		between = between[:1]
	}
	for _, reps := range choices(HasPin(item, PinReps), item.Reps[0], near.Reps[0], s.reps()) {
		for _, sets := range choices(HasPin(item, PinSets), int64(len(item.Reps)),
			int64(len(near.Reps)), setChoices) {
			series := Descending(reps, int(sets))
			for _, restMS := range choices(HasPin(item, PinRestSet), item.RestSetMS,
				near.RestSetMS, restChoices) {
				for _, betweenMS := range between {
					for _, n := range lengths {
						candidate := item
						candidate.Reps, candidate.RestSetMS = series, restMS
						candidate.RestRepMS = betweenMS
						*lengthIn(&candidate, s.step) = n
						s.try(candidate)
					}
				}
			}
		}
	}
}

var (
	setChoices  = []int64{1, 2, 3, 4}
	restChoices = []int64{30_000, 45_000, 60_000, 75_000, 90_000, 120_000}
)

// choices are the pinned value alone, or else near and all others by their distance from it.
func choices(isPinned bool, now, near int64, others []int64) []int64 {
	if isPinned {
		return []int64{now}
	}
	all := []int64{near}
	for _, n := range others {
		if n != near {
			all = append(all, n)
		}
	}
	away := func(i int) int64 { return max(all[i]-near, near-all[i]) }
	sort.SliceStable(all, func(i, j int) bool { return away(i) < away(j) })
	return all
}

// reps run from one to the exit gate of the step; a carry has one in each set.
func (s *search) reps() []int64 {
	if s.step.Kind == progression.ByCarry {
		return nil
	}
	most := 6
	if len(s.step.Exit.Reps) > 0 {
		most = s.step.Exit.Reps[0]
	}
	var all []int64
	for n := 1; n <= most; n++ {
		all = append(all, int64(n))
	}
	return all
}

// lengths of a hold are up to four seconds under the ladder's, never over: build by adding
// repetitions, not seconds (from memory). A carry gets shorter by fives down to ten seconds
// or metres (ours).
func (s *search) lengths(near int64) []int64 {
	var all []int64
	if s.step.Side == progression.ByDown {
		for n := max(s.step.Start.HoldS-4, 2); n <= s.step.Start.HoldS; n++ {
			all = append(all, int64(n)*1000)
		}
		return all
	}
	for n := near - 5_000; n >= 10_000; n -= 5_000 {
		all = append(all, n)
	}
	return all
}

// lengthIn is what says how long a repetition of an item lasts: the seconds of a hold, the
// time or the distance of a carry, and of a lift a number that is always 0.
func lengthIn(item *sessions.Item, step progression.Step) *int64 {
	switch {
	case step.Side == progression.ByDown:
		return &item.HoldMS
	case item.DistanceMM > 0:
		return &item.DistanceMM
	}
	return &item.TimeMS
}

func lengthPin(item sessions.Item, step progression.Step) string {
	switch {
	case step.Side == progression.ByDown:
		return PinHold
	case item.DistanceMM > 0:
		return PinDistance
	}
	return PinTime
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
// the place of the last effort; it takes no memory of its own, for it runs for each dose.
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
	rest, one := milliseconds(item.RestSetMS), milliseconds(item.HoldMS)
	between, ready := milliseconds(item.RestRepMS), milliseconds(sessions.ReadyMS)
	if s.step.Side == progression.ByHand {
		// One effort without a countdown.
		one, reps, ready = lengthOf(s.step, item.TimeMS, item.DistanceMM, reps), 1, 0
	}
	if w != s.side.Works {
		work := ready + time.Duration(reps)*one + time.Duration(reps-1)*between
		s.spans = append(s.spans, loading.Span{Length: work + rest})
		return last
	}
	s.spans = append(s.spans, loading.Span{Length: ready})
	for rep := range reps {
		s.spans = append(s.spans, loading.Span{Length: one, Demand: s.demand})
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

// change is what it costs to be off the wanted dose.
func (s *search) change(item sessions.Item) float64 {
	away := func(now, then int64, each float64) float64 {
		return math.Abs(float64(now-then)) * each
	}
	perLength := 4. / 1000
	if s.step.Side == progression.ByHand {
		perLength = 1. / 5000
	}
	near := s.near
	return away(item.Reps[0], near.Reps[0], 1) +
		away(int64(len(item.Reps)), int64(len(near.Reps)), 3) +
		away(item.RestSetMS, near.RestSetMS, 1.5/15_000) +
		away(item.RestRepMS, near.RestRepMS, 1./1000) +
		away(*lengthIn(&item, s.step), *lengthIn(&near, s.step), perLength)
}

// miss is what it costs to end outside the band, or not to end at all.
func (s *search) miss(fit Fit, done bool) float64 {
	low := s.band.Low
	if s.step.Side == progression.ByHand {
		low = 0
	}
	cost := 0.0
	gap := max(low-fit.Fatigue, fit.Fatigue-s.band.High, fit.Hardest-ceiling, 0)
	if gap > 0 || !done {
		cost += outOfBand * (1 + 10*gap)
	}
	if !done {
		cost += 100 * outOfBand
	}
	return cost
}
