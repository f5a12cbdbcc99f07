package loading

import (
	"math"

	"evenhold/internal/sides"
	"evenhold/internal/working"
)

// Guards on a suggested weight in one hand, as shares of body mass. The 10 to 20 %
// are our default: 30 kg in one hand cost the low back more than 15 kg in each
// ("Low back loads while walking and carrying: comparing the load carried in one
// hand or in both hands", Ergonomics 2013;56(2):293-302,
// doi:10.1080/00140139.2012.752528), so one-handed loads start low.
const (
	startGuard = .10 // while the capacity is not known
	upperGuard = .20 // most of any weight that is carried
)

// roundG is the step to which a weight is rounded down where no implements are
// listed: ours.
const roundG = 1000

// Limit says what set a suggested weight.
type Limit string

// What can set a weight.
const (
	LimitShare       Limit = "share"        // the chosen share of capacity
	LimitGuard       Limit = "guard"        // the guard, a share of body mass
	LimitStart       Limit = "start"        // 10 % of body mass: capacity not known yet
	LimitNoImplement Limit = "no_implement" // none of the implements is light enough
)

// Carry is a suggested weight for one hand. LoadG is 0 with LimitNoImplement.
// The shares of capacity at LoadG are 0 while the capacity is not known.
type Carry struct {
	Demand                           Demand // at LoadG
	Works                            sides.Working
	Hand                             sides.Hand
	LoadG                            int64
	BeforeRoundingG                  int64
	Limit                            Limit
	LowShare, MedianShare, HighShare float64
	Working                          working.Working
}

// CarryLoad finds the weight at which posture asks a share of the capacity, above
// 0 to 1, holds it to guard (a share of body mass, at most 0.5; 0 stands for 0.20), and
// rounds down to one of implementsG (grams;
// entries that are not above 0 are passed over; an empty list rounds down to whole
// kilograms). It returns ErrPosture for a posture without a weight, ErrShare, or
// the errors of Load.
func (c Capacity) CarryLoad(p Posture, share, guard float64, implementsG []int64) (
	Carry, error) {
	if !p.HasWeight() {
		return Carry{}, ErrPosture
	}
	if guard == 0 {
		guard = upperGuard
	}
	if !(share > 0 && share <= 1) || !(guard > 0 && guard <= .5) {
		return Carry{}, ErrShare
	}
	perKG, err := Load(c.Body, Setup{Posture: p, Works: c.Works, LoadG: 1000})
	if err != nil {
		return Carry{}, err
	}
	mean, variance := c.belief.seen(p.index())
	wanted := 1000 * share * math.Exp(mean) / perKG.MomentNM
	r := Carry{Works: c.Works, Hand: sides.HandFor(c.Works), Limit: LimitShare}
	guardG := guard * float64(c.Body.MassG)
	switch {
	case !c.IsKnown():
		wanted, r.Limit = min(startGuard*float64(c.Body.MassG), guardG), LimitStart
	case wanted > guardG:
		wanted, r.Limit = guardG, LimitGuard
	}
	r.BeforeRoundingG = int64(wanted + 1e-6)
	r.LoadG = roundDown(r.BeforeRoundingG, implementsG)
	if r.LoadG == 0 {
		r.Limit = LimitNoImplement
	}
	r.Demand = Demand{Posture: p, MomentNM: perKG.MomentNM * float64(r.LoadG) / 1000}
	if c.IsKnown() && r.LoadG > 0 {
		r.LowShare, r.MedianShare, r.HighShare =
			logBand(math.Log(r.Demand.MomentNM)-mean, variance)
	}
	r.explain(c, share, guardG, perKG.MomentNM)
	return r, nil
}

func roundDown(wantedG int64, implementsG []int64) int64 {
	best, listed := int64(0), false
	for _, g := range implementsG {
		if g <= 0 {
			continue
		}
		listed = true
		if g <= wantedG {
			best = max(best, g)
		}
	}
	if !listed {
		return wantedG / roundG * roundG
	}
	return best
}

func (r *Carry) explain(c Capacity, share, guardG, perKGNM float64) {
	w := c.start("loading.working.carry", "1", r.LowShare, r.HighShare)
	if !c.IsKnown() {
		w.Level = 0
	}
	w.Inputs = append(w.Inputs,
		working.Input{Key: "loading.input.share", Value: share, Unit: "1"})
	w.Steps = []working.Step{
		{Key: "loading.step.per_kg", Formula: "9.81 · arm", Value: perKGNM, Unit: "N.m"},
		{Key: "loading.step.guard", Formula: "guard · mass",
			Value: guardG / 1000, Unit: "kg"},
		{Key: "loading.step.load_wanted", Formula: "share · capacity / per kilogram, within the guard",
			Value: float64(r.BeforeRoundingG) / 1000, Unit: "kg"},
		{Key: "loading.step.load", Formula: "rounded down to what is at hand",
			Value: float64(r.LoadG) / 1000, Unit: "kg"},
	}
	w.Sources = []working.Source{sourceGuard, sourceOneHand, sourceStatics, sourcePowerLaw}
	w.Cautions = append(w.Cautions, "loading.caution.grip")
	r.Working = w
}
