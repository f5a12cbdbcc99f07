// Package simulated invents people whose truth is known, to see how often the answers of symmetry
// hold. Tests ask it, and the bench prints what it says; the app does not.
//
// Everything is pure: chance is handed in, so one seed is one crowd.
package simulated

import (
	"math"
	"time"

	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
)

// Chance draws from the standard normal and from the uniform distribution on [0, 1).
type Chance interface {
	NormFloat64() float64
	Float64() float64
}

// Person has a known truth, drawn from the very prior that the model states: sides around a
// common level, one visit effect for both sides, a trial error whose size differs between people.
type Person struct {
	chance  Chance
	m       symmetry.Model
	left    float64 // true log endurance
	right   float64
	trialSD float64
}

// NewPerson draws a person whose log endurance on the right exceeds the left by difference.
func NewPerson(chance Chance, m symmetry.Model, difference float64) Person {
	mid := math.Log(m.Level.Seconds()) + m.LevelSD*chance.NormFloat64()
	return Person{
		chance: chance, m: m, left: mid - difference/2, right: mid + difference/2,
		trialSD: m.TrialSD * math.Exp(m.TrialSDLogSD*chance.NormFloat64()),
	}
}

// Trials tests both sides once a visit. The shoulder tires with probability cut, at a time of
// its own that the trunk has no say in; what it ends is only a lower bound.
func (p Person) Trials(visits int, cut float64) []symmetry.Trial {
	var trials []symmetry.Trial
	for v := range visits {
		day := p.m.VisitSD * p.chance.NormFloat64()
		for _, side := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
			log := p.left
			if side == sides.WorksRight {
				log = p.right
			}
			log += day + p.trialSD*p.chance.NormFloat64()
			stop := symmetry.Position
			if p.chance.Float64() < cut {
				if arm := math.Log(p.m.Level.Seconds()) + p.chance.NormFloat64(); arm < log {
					log, stop = arm, symmetry.ArmShoulder
				}
			}
			hold := time.Duration(math.Exp(log) * float64(time.Second))
			trials = append(trials, symmetry.Trial{Side: side, Hold: hold, Stop: stop, Visit: v})
		}
	}
	return trials
}
