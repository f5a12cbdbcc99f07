package symmetry_test

import (
	"math"
	"math/rand/v2"
	"time"

	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
)

// person is a simulated person with a known truth, drawn from the very prior
// that the model states: sides around a common level, one visit effect for both
// sides, a trial error whose size differs between people.
type person struct {
	rng     *rand.Rand
	m       symmetry.Model
	left    float64 // true log endurance
	right   float64
	trialSD float64
}

func newPerson(rng *rand.Rand, m symmetry.Model, difference float64) person {
	mid := math.Log(m.Level.Seconds()) + m.LevelSD*rng.NormFloat64()
	return person{
		rng: rng, m: m, left: mid - difference/2, right: mid + difference/2,
		trialSD: m.TrialSD * math.Exp(m.TrialSDLogSD*rng.NormFloat64()),
	}
}

// trials tests both sides once a visit. Each hold is cut short by a shoulder
// with probability cut, at a share of its true length that the trunk has no say
// in, so that the lower bound tells nothing but that the hold was longer.
func (p person) trials(visits int, cut float64) []symmetry.Trial {
	var trials []symmetry.Trial
	for v := range visits {
		day := p.m.VisitSD * p.rng.NormFloat64()
		for _, side := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
			log := p.left
			if side == sides.WorksRight {
				log = p.right
			}
			log += day + p.trialSD*p.rng.NormFloat64()
			stop := symmetry.Position
			if p.rng.Float64() < cut {
				// The shoulder gives out at a time of its own.
				if arm := math.Log(p.m.Level.Seconds()) + p.rng.NormFloat64(); arm < log {
					log, stop = arm, symmetry.ArmShoulder
				}
			}
			hold := time.Duration(math.Exp(log) * float64(time.Second))
			trials = append(trials, symmetry.Trial{Side: side, Hold: hold, Stop: stop, Visit: v})
		}
	}
	return trials
}
