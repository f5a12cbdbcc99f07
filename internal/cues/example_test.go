package cues_test

import (
	"fmt"
	"time"

	"evenhold/internal/cues"
	"evenhold/internal/progression"
	"evenhold/internal/sides"
)

func ExamplePlan() {
	step, _ := progression.StepByID("straight_leg_hold")
	dose := progression.Dose{HoldS: 10, Reps: []int{1}}
	series := cues.Expand(dose, step, sides.WorksRight, 1)
	for _, c := range cues.Plan(series, 0, time.Minute, cues.Options{Voice: true}) {
		if c.Channel == cues.Say {
			fmt.Println(c.AtMS, c.Key)
		}
	}
	// Output:
	// 0 cue.side.down_right
	// 8000 cue.hips_up
	// 15000 cue.set_done
}
