package progression

import (
	"errors"

	"evenhold/internal/sides"
	"evenhold/internal/working"
)

// Input is what the first plan after a test is chosen from. LeftHold and
// RightHold are by working side, tested in Posture. MassG 0 and an empty
// Implements are unknown. Weaker is empty when neither side is; LargerThanNoise
// says that the difference exceeds the test's own noise.
type Input struct {
	LeftHold, RightHold Hold
	Posture             Posture
	RedFlagOpen         bool
	PainNow             Scale
	MassG               int64
	Implements          []int64 // grams, in any order
	ShoulderSore        bool
	Weaker              sides.Working
	LargerThanNoise     bool
	Edition             Edition
}

// Item is one exercise of a plan: a step and its dose for each working side.
type Item struct {
	StepID                string
	StepVersion           int
	WorksLeft, WorksRight Dose
	Rules                 []Fired
	Working               working.Working // of the load; its Key is empty for a hold
}

// Dose returns the dose of working side w.
func (i Item) Dose(w sides.Working) Dose {
	if w == sides.WorksRight {
		return i.WorksRight
	}
	return i.WorksLeft
}

// Suggestion is the outcome of Suggest. Either Refusal is empty and there are
// two or three items, or Refusal and Ask are message keys (why, and whom to ask)
// and there are none. Rules hold for the plan as a whole.
type Suggestion struct {
	Items   []Item
	Rules   []Fired
	Refusal string
	Ask     string
}

const (
	askClinician = "ask.clinician"
	askEntry     = "ask.check_entry"
)

// liftHoldS is the hold of the weaker side from which a first plan holds a lift
// as well: below about 40-45 s is low (common practice, no source).
const liftHoldS = 45

// Suggest proposes a first plan after a test: a hold step chosen by the weaker
// side's gates, a one-sided carry, and for those who held long enough a lift.
// Nothing is proposed while a red flag is open, when pain now is above 5, or
// when a value that went in is not plausible.
func Suggest(in Input) Suggestion {
	if in.RedFlagOpen {
		return refusal("refuse.red_flag_open", askClinician, fired("red_flag_open"))
	}
	if bad := in.check(); bad != nil {
		return refusal(bad.Bound.Key, askEntry, refused(bad))
	}
	if in.PainNow.Known && in.PainNow.Value > painCare {
		return refusal("refuse.pain_over_5", askClinician, fired("pain_over_5",
			num("pain", in.PainNow.Value), num("max", painCare)))
	}
	out := Suggestion{Rules: in.general()}
	out.Items = append(out.Items, in.firstHold())
	for _, f := range []Family{Carries, Lifts} {
		if step, found := in.Edition.first(f); found && (f == Carries || in.takesLift()) {
			out.Items = append(out.Items, in.loaded(step))
		}
	}
	return out
}

func refusal(key, ask string, rule Fired) Suggestion {
	return Suggestion{Refusal: key, Ask: ask, Rules: []Fired{rule}}
}

func (in Input) check() *OutOfBounds {
	errs := []error{checkHold(in.LeftHold.Held), checkHold(in.RightHold.Held)}
	if in.MassG != 0 {
		errs = append(errs, Check(MassG, in.MassG))
	}
	if in.PainNow.Known {
		errs = append(errs, Check(Pain, int64(in.PainNow.Value)))
	}
	errs = append(errs, checkImplements(in.Implements))
	return firstOutOfBounds(errs)
}

func checkImplements(implements []int64) error {
	for _, g := range implements {
		if err := Check(LoadG, g); err != nil {
			return err
		}
	}
	return nil
}

func firstOutOfBounds(errs []error) *OutOfBounds {
	for _, err := range errs {
		if bad, ok := errors.AsType[*OutOfBounds](err); ok {
			return bad
		}
	}
	return nil
}

// care reports whether pain, now or in the test, asks for an easier start.
func (in Input) care() bool {
	return in.PainNow.Known && in.PainNow.Value > painGoOn || in.stoppedBy(StopPain)
}

func (in Input) stoppedBy(r StopReason) bool {
	return in.LeftHold.Tested && in.LeftHold.Stop == r ||
		in.RightHold.Tested && in.RightHold.Stop == r
}

// spare reports whether to choose steps that are kind to the shoulder.
func (in Input) spare() bool { return in.ShoulderSore || in.stoppedBy(StopArmShoulder) }

func (in Input) weakerHold() Hold {
	if in.LeftHold.seconds() <= in.RightHold.seconds() {
		return in.LeftHold
	}
	return in.RightHold
}

func (in Input) takesLift() bool {
	return in.weakerHold().seconds() >= liftHoldS && in.PainNow.Known && !in.care() &&
		in.MassG != 0
}

// first returns the side that starts, and whether it is the weaker one.
func (in Input) first() (sides.Working, bool) {
	if in.Weaker == sides.WorksLeft || in.Weaker == sides.WorksRight {
		return in.Weaker, true
	}
	return sides.WorksLeft, false
}

// general lists the rules that hold for the whole plan.
func (in Input) general() []Fired {
	var rules []Fired
	switch {
	case !in.PainNow.Known:
		rules = append(rules, fired("pain_unknown"))
	case in.PainNow.Value > painGoOn:
		rules = append(rules, fired("pain_3_to_5", num("pain", in.PainNow.Value)))
	default:
		rules = append(rules, fired("pain_0_to_2", num("pain", in.PainNow.Value)))
	}
	if in.stoppedBy(StopPain) {
		rules = append(rules, fired("test_stopped_by_pain"))
	}
	switch left, right := in.LeftHold.counts(), in.RightHold.counts(); {
	case !left && !right:
		rules = append(rules, fired("not_tested"))
	case left != right:
		rules = append(rules, fired("one_side_tested"))
	}
	if in.spare() {
		rules = append(rules, fired("shoulder_spared"))
	}
	return append(rules, fired("days_per_week", num("from", 2), num("to", 3)))
}

// firstHold chooses the highest step that may start a plan and that the weaker
// side's hold opens; pain takes it one such step lower.
func (in Input) firstHold() Item {
	weaker := in.weakerHold()
	var open []Step
	var gates []int
	for _, s := range in.Edition.ladder(Holds).Steps {
		if !s.CanBeFirst || !s.fits(in.spare()) {
			continue
		}
		if ok, gateS := s.IsOpen(in.Posture, weaker.seconds()); ok {
			open, gates = append(open, s), append(gates, gateS)
		}
	}
	at := len(open) - 1
	if in.care() {
		at = max(at-1, 0)
	}
	step := open[at]
	item := in.item(step)
	held := num("heldS", weaker.seconds())
	if gates[at] > 0 {
		item.Rules = append(item.Rules, fired("gate_met", held, num("gateS", gates[at])))
	} else {
		item.Rules = append(item.Rules, fired("gate_open"))
	}
	if weaker.AtLeast && weaker.counts() {
		item.Rules = append(item.Rules, fired("at_least", held))
	}
	item.Rules = append(item.Rules,
		fired("short_holds", num("holdS", step.Start.HoldS), num("maxS", longestHoldS)))
	if in.LargerThanNoise && in.Weaker != "" && !in.care() {
		item.WorksLeft.ExtraSetsWeaker, item.WorksRight.ExtraSetsWeaker = 1, 1
		item.Rules = append(item.Rules, fired("extra_set", num("sets", 1)))
	}
	return item
}

// loaded gives a step that moves a weight.
func (in Input) loaded(step Step) Item {
	item := in.item(step)
	loadG, rules, derivation := startLoad(step, in.MassG, in.Implements, in.care())
	item.WorksLeft.LoadG, item.WorksRight.LoadG = loadG, loadG
	item.Rules = append(item.Rules, rules...)
	item.Working = derivation
	return item
}

// item is a step at its starting dose, or a smaller one when pain asks for care.
func (in Input) item(s Step) Item {
	first, weaker := in.first()
	dose := s.Start
	dose.FirstSide = first
	dose.Reps = append([]int(nil), dose.Reps...)
	rule := "first_free."
	if weaker {
		rule = "first."
	}
	rules := []Fired{fired(rule + s.Place(first).Key())}
	if in.care() {
		dose.Reps = fewerReps(dose.Reps, careFewer)
		rules = append(rules, fired("fewer_reps", num("sets", len(dose.Reps))))
	}
	return newItem(s, dose, rules)
}

// newItem gives both working sides a dose of their own: they share no memory.
func newItem(s Step, d Dose, rules []Fired) Item {
	right := d
	right.Reps = append([]int(nil), d.Reps...)
	return Item{StepID: s.ID, StepVersion: s.Version, WorksLeft: d, WorksRight: right, Rules: rules}
}
