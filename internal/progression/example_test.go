package progression_test

import (
	"fmt"
	"time"

	"evenhold/internal/progression"
	"evenhold/internal/sides"
)

// Invented data: the left side held 35 s, the right side 60 s.
func ExampleSuggest() {
	plan := progression.Suggest(progression.Input{
		LeftHold:  progression.Hold{Tested: true, Held: 35 * time.Second},
		RightHold: progression.Hold{Tested: true, Held: 60 * time.Second},
		Posture:   progression.StraightLeg,
		PainNow:   progression.Rated(1),
		MassG:     80_000, Implements: []int64{6_000, 8_000, 10_000},
		Weaker: sides.WorksLeft, LargerThanNoise: true,
	})
	for _, item := range plan.Items {
		for _, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
			d := item.Dose(w)
			fmt.Println(item.StepID, "works", w, d.Sets(w), d.HoldS, "s", d.LoadG, "g")
		}
	}
	// Output:
	// straight_leg_hold works left [5 4 3 3] 10 s 0 g
	// straight_leg_hold works right [5 4 3] 10 s 0 g
	// suitcase_carry works left [1 1 1] 0 s 8000 g
	// suitcase_carry works right [1 1 1] 0 s 8000 g
}
