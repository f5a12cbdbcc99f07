package loading

import (
	"math"

	"evenhold/internal/working"
)

// explain writes down how the moment was come by. p is the pose as built, before
// it was moved to the plumb line.
func (r Statics) explain(b Body, setup Setup, p pose) working.Working {
	w := working.Working{
		Key: "loading.working.moment", Unit: "N.m",
		Low: r.LowNM, High: r.HighNM, Level: .90,
		Inputs: bodyInputs(b),
		Sources: []working.Source{
			sourceSegments, sourceLengths, sourceLowBack, sourceStatics, sourceSides,
		},
		Cautions: []string{"loading.caution.own_statics"},
	}
	if b.Sex != "female" && b.Sex != "male" {
		w.Cautions = append(w.Cautions, "loading.caution.mean_table")
	}
	if setup.Posture.HasWeight() {
		r.explainWeight(&w, setup)
		return w
	}
	var weightN, aboveN, aboveNM float64
	for _, m := range p.masses {
		n := m.kg * gravity
		weightN += n
		if m.above {
			aboveN += n
			aboveNM += cross(m.at.from(p.lowBack), point{0, -n})
		}
	}
	push := r.Supports[0]
	w.Steps = append(w.Steps,
		working.Step{Key: "loading.step.weight", Formula: "mass · 9.81", Value: weightN, Unit: "N"},
		working.Step{Key: "loading.step.push", Formula: "moments about the feet or knees = 0",
			Value: push.Newtons(), Unit: "N"},
		working.Step{Key: "loading.step.push_share", Formula: "push / weight · 100",
			Value: 100 * push.Newtons() / weightN, Unit: "%"},
		working.Step{Key: "loading.step.upper_weight", Formula: "sum of segments above the low back",
			Value: aboveN, Unit: "N"},
		working.Step{Key: "loading.step.push_moment", Formula: "push · its arm to the low back",
			Value: r.MomentNM - aboveNM, Unit: "N.m"},
		working.Step{Key: "loading.step.upper_moment", Formula: "upper weight · its arm to the low back",
			Value: -aboveNM, Unit: "N.m"},
		working.Step{Key: "loading.step.moment", Formula: "push moment − upper moment",
			Value: r.MomentNM, Unit: "N.m"})
	switch setup.Posture {
	case WallLean:
		w.Cautions = append(w.Cautions, "loading.caution.wall_grip")
	case TopLegRaised:
		w.Cautions = append(w.Cautions, "loading.caution.top_leg")
	case FeetElevated:
		w.Cautions = append(w.Cautions, "loading.caution.feet_elevated")
	}
	return w
}

func (r Statics) explainWeight(w *working.Working, setup Setup) {
	arm := math.Abs(r.Weights[0].X)
	w.Inputs = append(w.Inputs, working.Input{
		Key: "loading.input.load", Value: float64(setup.LoadG) / 1000, Unit: "kg"})
	formula := "load · 9.81 · arm"
	if setup.OtherLoadG > 0 {
		formula = "(load − other load) · 9.81 · arm"
		w.Inputs = append(w.Inputs, working.Input{
			Key: "loading.input.other_load", Value: float64(setup.OtherLoadG) / 1000, Unit: "kg"})
	}
	armFormula := "half shoulder width"
	if setup.Posture == Suitcase || setup.Posture == OneSidedLift {
		armFormula = "half shoulder width + 0.05 m"
	}
	w.Steps = append(w.Steps,
		working.Step{Key: "loading.step.arm", Formula: armFormula, Value: arm, Unit: "m"},
		working.Step{Key: "loading.step.moment", Formula: formula, Value: r.MomentNM, Unit: "N.m"})
	w.Sources = append(w.Sources, sourceOneHand)
	w.Cautions = append(w.Cautions, "loading.caution.standing_still")
	switch setup.Posture {
	case Overhead:
		w.Cautions = append(w.Cautions, "loading.caution.overhead")
	case OneSidedLift:
		w.Cautions = append(w.Cautions, "loading.caution.lift_slowly")
	}
}

func bodyInputs(b Body) []working.Input {
	return []working.Input{
		{Key: "loading.input.mass", Value: float64(b.MassG) / 1000, Unit: "kg"},
		{Key: "loading.input.stature", Value: float64(b.StatureMM) / 1000, Unit: "m"},
	}
}
