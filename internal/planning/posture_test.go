package planning

import (
	"testing"

	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/sides"
)

// TestPosturesAgree: the ladders and the statics name the postures alike. Each step of the
// ladders has statics, in which a hand holds a weight exactly where the step's side is
// named by the hand, and the ladders leave no posture of the statics out.
func TestPosturesAgree(t *testing.T) {
	body := loading.Body{MassG: 70_000, StatureMM: 1_720}
	used := map[loading.Posture]bool{}
	for _, ladder := range progression.Ladders() {
		for _, step := range ladder.Steps {
			posture := loading.Posture(step.Posture)
			used[posture] = true
			if posture.HasWeight() != (step.Side == progression.ByHand) {
				t.Errorf("%s: in the statics a weight is %t, its side rule is %s",
					step.ID, posture.HasWeight(), step.Side)
			}
			setup := loading.Setup{Posture: posture, Works: sides.WorksRight}
			if posture.HasWeight() {
				setup.LoadG = 8_000
			}
			got, err := loading.Load(body, setup)
			if err != nil || got.MomentNM <= 0 {
				t.Errorf("%s: %s has a moment of %v N·m (%v)", step.ID, posture, got.MomentNM, err)
			}
			for _, gate := range step.Entry {
				if loading.Posture(gate.Posture).HasWeight() {
					t.Errorf("%s: the entry gate asks for a timed %s", step.ID, gate.Posture)
				}
			}
		}
	}
	// The same words on both sides, posture by posture.
	for ours, theirs := range map[progression.Posture]loading.Posture{
		progression.WallLean: loading.WallLean, progression.BentKnee: loading.BentKnee,
		progression.StraightLeg: loading.StraightLeg, progression.FeetElevated: loading.FeetElevated,
		progression.TopLegRaised: loading.TopLegRaised, progression.Suitcase: loading.Suitcase,
		progression.Rack: loading.Rack, progression.Overhead: loading.Overhead,
		progression.OneSidedLift: loading.OneSidedLift,
	} {
		if string(ours) != string(theirs) {
			t.Errorf("the ladders say %q where the statics say %q", ours, theirs)
		}
		if !used[theirs] {
			t.Errorf("no step of the ladders is done in the posture %s", theirs)
		}
	}
}
