package loading

import (
	"math"
	"testing"
)

// The series that the closed form is held against the full model on: work and rest
// at varying load, as (seconds, share).
var workAndRest = map[string][][2]float64{
	"one hold":       {{60, .5}},
	"hold and rest":  {{60, .5}, {120, 0}},
	"ten and ten":    {{10, .6}, {10, 0}, {10, .6}, {10, 0}, {10, .6}, {60, 0}, {10, .6}},
	"falling load":   {{40, .6}, {40, .4}, {60, 0}, {100, .2}},
	"rising load":    {{60, .2}, {60, .3}, {30, 0}, {60, .4}},
	"carry and hold": {{90, .25}, {60, 0}, {10, .65}, {10, 0}, {10, .65}},
}

func closedForm(spans [][2]float64, rest float64) (fatigued float64) {
	for _, s := range spans {
		fatigued, _ = fatigueAfter(fatigued, s[1], s[0], rest)
	}
	return fatigued
}

// TestClosedFormAgainstFullModel: the closed form leaves out the first tenths of a
// second of each change of load, so it must agree with the full three-compartment
// model to .002 of the muscle; recovery at rest ×15 as in "Modification of a
// three-compartment muscle fatigue model to predict peak torque decline during
// intermittent tasks", J Biomech 2018;77:16-25, doi:10.1016/j.jbiomech.2018.06.005.
func TestClosedFormAgainstFullModel(t *testing.T) {
	for name, spans := range workAndRest {
		want, failedS := threeCompartments(spans, restFactor, .001)
		if failedS >= 0 {
			t.Fatalf("%s fails at %.1f s: not a fair comparison", name, failedS)
		}
		got := closedForm(spans, restFactor)
		if math.Abs(got-want) > .002 {
			t.Errorf("%s: closed form %.5f, full model %.5f", name, got, want)
		}
	}
}

// TestStepSize: shrinking the step of the full model must lead, at first order, to a
// limit, and the distance from that limit to the closed form must not depend on the
// step: what is left is the neglected activation, not the integration.
func TestStepSize(t *testing.T) {
	spans := workAndRest["ten and ten"]
	steps := []float64{.08, .04, .02, .01, .005}
	fine, _ := threeCompartments(spans, restFactor, .000625)
	before := math.Inf(1)
	for _, step := range steps {
		got, _ := threeCompartments(spans, restFactor, step)
		off := math.Abs(got - fine)
		t.Logf("step %.4f s: fatigued %.6f, off the fine step by %.1e", step, got, off)
		if !(off < before*.75) {
			t.Errorf("step %.4f s: off by %g after %g", step, off, before)
		}
		before = off
	}
	t.Logf("closed form %.6f, fine step %.6f", closedForm(spans, restFactor), fine)
}

// TestFailureAgainstFullModel: both must fail in the same span, within half a second.
func TestFailureAgainstFullModel(t *testing.T) {
	spans := [][2]float64{{40, .6}, {10, 0}, {40, .6}, {10, 0}, {60, .6}}
	_, want := threeCompartments(spans, restFactor, .001)
	f, at := 0.0, 0.0
	for _, s := range spans {
		after, held := fatigueAfter(f, s[1], s[0], restFactor)
		if held < s[0] {
			at += held
			break
		}
		f, at = after, at+s[0]
	}
	if want < 0 || math.Abs(at-want) > .5 {
		t.Errorf("closed form fails at %.2f s, full model at %.2f s", at, want)
	}
}

// TestEvenHold: a series asks at least as much as one of its holds and at most as much
// as all of them without rest, and longer rests ask less.
func TestEvenHold(t *testing.T) {
	before := math.Inf(1)
	for _, restS := range []float64{0, 5, 10, 30, 120, 600} {
		got := evenHoldS(10, restS, 6)
		if !(got >= 10 && got <= 60.01 && got <= before) {
			t.Errorf("6 × 10 s with %g s rest = one hold of %.2f s, before %.2f", restS, got, before)
		}
		before = got
	}
	if got := evenHoldS(10, 0, 6); math.Abs(got-60) > .01 {
		t.Errorf("6 × 10 s without rest = %.3f s, want 60", got)
	}
}
