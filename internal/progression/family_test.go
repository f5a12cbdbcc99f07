package progression_test

import (
	"slices"
	"testing"

	"evenhold/internal/progression"
)

// asked lists the families that the ladders are to have, easiest first, in the words of
// what was asked for, each with the step that stands for it. A weight above the head on
// steps is left out on purpose: nobody can catch it there.
var asked = []struct {
	family  progression.Family
	what    string
	step    string
	posture progression.Posture
}{
	{progression.Holds, "wall lean", "wall_lean", progression.WallLean},
	{progression.Holds, "bent-knee hold", "bent_knee_hold", progression.BentKnee},
	{progression.Holds, "bent-knee hip raise", "bent_knee_hip_raise", progression.BentKnee},
	{progression.Holds, "straight-leg, top foot in front", "straight_leg_hold",
		progression.StraightLeg},
	{progression.Holds, "feet-elevated for sore shoulders", "feet_elevated_hold",
		progression.FeetElevated},
	{progression.Holds, "roll side-front-side", "side_front_roll", progression.StraightLeg},
	{progression.Holds, "hip lifts and lowers", "hip_lift", progression.StraightLeg},
	{progression.Holds, "top leg raised", "top_leg_hold", progression.TopLegRaised},
	{progression.Carries, "suitcase, walking", "suitcase_carry", progression.Suitcase},
	{progression.Carries, "suitcase, turning", "suitcase_turns", progression.Suitcase},
	{progression.Carries, "suitcase, up and down steps", "suitcase_stairs", progression.Suitcase},
	{progression.Carries, "rack, walking", "rack_carry", progression.Rack},
	{progression.Carries, "rack, turning", "rack_turns", progression.Rack},
	{progression.Carries, "rack, up and down steps", "rack_stairs", progression.Rack},
	{progression.Carries, "overhead, walking", "overhead_carry", progression.Overhead},
	{progression.Carries, "overhead, turning", "overhead_turns", progression.Overhead},
	{progression.Lifts, "raised suitcase deadlift", "raised_suitcase_deadlift",
		progression.OneSidedLift},
	{progression.Lifts, "split squat", "split_squat", progression.OneSidedLift},
	{progression.Lifts, "step-up", "step_up", progression.OneSidedLift},
	{progression.Lifts, "step-down", "step_down", progression.OneSidedLift},
	{progression.Lifts, "lunge", "lunge", progression.OneSidedLift},
	{progression.Lifts, "squat in the rack position", "rack_squat", progression.OneSidedLift},
}

// TestFamilies holds the ladders against the families that were asked for: each stands
// there, in this order, with set-up, cues, faults, cautions, the rule of the working side,
// both gates and a starting dose; and nothing stands there that was not asked for.
func TestFamilies(t *testing.T) {
	w := readWords(t)
	var got []string
	for _, ladder := range progression.Ladders() {
		for _, s := range ladder.Steps {
			got = append(got, s.ID)
		}
	}
	var want []string
	for _, a := range asked {
		want = append(want, a.step)
		s, found := progression.StepByID(a.step)
		if !found {
			t.Errorf("%s: there is no step %s", a.what, a.step)
			continue
		}
		side := progression.ByDown
		if a.family != progression.Holds {
			side = progression.ByHand
		}
		if s.Family != a.family || s.Posture != a.posture || s.Side != side {
			t.Errorf("%s: %s is a %s in %s, named by its %s", a.what, s.ID, s.Family, s.Posture, s.Side)
		}
		if w[s.Name] == "" || w[s.Setup] == "" || len(s.Cues) < 3 || len(s.Faults) < 3 ||
			len(s.Cautions) < 2 {
			t.Errorf("%s lacks words: %+v", a.what, s)
		}
		hasWork := len(s.Start.Reps) > 0 && s.Start.RestBetweenSetsS > 0 &&
			(s.Kind == progression.ByLift || s.Start.HoldS > 0 || s.Start.TimeS > 0)
		hasExit := len(s.Exit.Reps) > 0 || s.Exit.TimeS > 0 && s.Exit.DistanceM > 0
		isOpen := a.step == "wall_lean" || a.step == "suitcase_carry"
		if !hasWork || !hasExit || (len(s.Entry) > 0) == isOpen {
			t.Errorf("%s lacks a dose or a gate: start %+v, exit %+v, entry %v",
				a.what, s.Start, s.Exit, s.Entry)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("the ladders are\n%q, want\n%q", got, want)
	}
}
