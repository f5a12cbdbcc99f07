package progression

import (
	"math"

	"evenhold/internal/working"
)

// wholeKG is the step to which a load is rounded down while it is not known
// which weights are at hand.
const wholeKG = 1000

// A lifter's step up: 2-10 % when one or two repetitions above the target are
// possible. Progression models in resistance training for healthy adults, Med
// Sci Sports Exerc 2009;41(3):687-708. A larger jump, forced by the weights at
// hand, starts again with the starting dose; above jumpMaxPercent it is not
// suggested (ours).
const (
	loadUpMinPercent = 2
	loadUpMaxPercent = 10
	jumpMaxPercent   = 50
)

// careShare is the share of the starting load kept when pain asks for
// care (ours).
const careShare = 0.5

var carrySource = working.Source{
	Title: "Low back loads while walking and carrying: comparing the load carried in one hand " +
		"or in both hands",
	Where: "Ergonomics 56(2):293-302", Year: 2013, DOI: "10.1080/00140139.2012.752528",
	Status: working.Seen,
}

// startLoad chooses the first load of a step in grams, with the rules and the
// derivation; 0 where it cannot be chosen, with the rule that says why.
func startLoad(s Step, massG int64, implements []int64, care bool) (int64, []Fired,
	working.Working) {
	if massG == 0 {
		return 0, []Fired{fired("mass_missing")}, working.Working{}
	}
	percent := float64(s.StartPercent)
	if care {
		percent *= careShare
	}
	targetG := int64(math.Floor(float64(massG) * percent / 100))
	rules := []Fired{fired("load_fraction", num("percent", percent), num("targetKG", kg(targetG)))}
	loadG, lightestG := roundDown(targetG, implements)
	switch {
	case len(implements) == 0:
		rules = append(rules, fired("implements_unknown", num("loadKG", kg(loadG))))
	case loadG == 0:
		rules = append(rules, fired("no_light_implement", num("targetKG", kg(targetG)),
			num("lightestKG", kg(lightestG))))
	default:
		rules = append(rules, fired("load_rounded", num("loadKG", kg(loadG))))
	}
	return loadG, rules, working.Working{
		Key:    "working.start_load",
		Inputs: []working.Input{{Key: "working.mass", Value: kg(massG), Unit: "kg"}},
		Steps: []working.Step{
			{Key: "working.target", Formula: "mass × percent / 100", Value: kg(targetG), Unit: "kg"},
			{Key: "working.chosen", Formula: "heaviest at hand ≤ target", Value: kg(loadG), Unit: "kg"},
		},
		Sources:  []working.Source{ours, carrySource},
		Unit:     "kg",
		Cautions: []string{"working.start_load.caution"},
	}
}

// roundDown returns the heaviest implement that is no more than targetG, or 0,
// and the lightest there is. Without implements it rounds to whole kilograms.
func roundDown(targetG int64, implements []int64) (loadG, lightestG int64) {
	if len(implements) == 0 {
		return targetG - targetG%wholeKG, 0
	}
	for _, g := range implements {
		if g <= targetG {
			loadG = max(loadG, g)
		}
		if lightestG == 0 || g < lightestG {
			lightestG = g
		}
	}
	return loadG, lightestG
}

// heavier returns the next load above fromG that stays within the step's guard,
// and the jump in percent; false when there is none.
func heavier(s Step, fromG, massG int64, implements []int64) (int64, float64, bool) {
	if massG == 0 || fromG <= 0 {
		return 0, 0, false
	}
	guardG := massG * int64(s.MaxPercent) / 100
	nextG := int64(0)
	if len(implements) == 0 {
		nextG = fromG - fromG%wholeKG + wholeKG
	}
	for _, g := range implements {
		if g > fromG && (nextG == 0 || g < nextG) {
			nextG = g
		}
	}
	if nextG == 0 || nextG > guardG {
		return 0, 0, false
	}
	return nextG, float64(nextG-fromG) / float64(fromG) * 100, true
}

// lighter returns the next load below fromG, or false.
func lighter(fromG int64, implements []int64) (int64, bool) {
	if fromG <= 0 {
		return 0, false
	}
	loadG, _ := roundDown(fromG-1, implements)
	return loadG, loadG > 0
}

func kg(g int64) float64 { return float64(g) / 1000 }
