package planning

import (
	"math"

	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// Design note. A set of holds is fitted so that the weaker side ends its last set within
// a band of predicted fatigue, and no set goes past a ceiling. Carries within their
// guards tire the trunk little in the model, so their weight is chosen by the share of
// capacity that it asks, and they are only kept from ending above the band. Band, ceiling,
// shares and the order in which numbers give way are ours.

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
