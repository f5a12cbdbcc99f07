package planning

import (
	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// Prescription is a suggestion as plan items, fitted to what is known of the client.
// Fits and Carries are by place in Items; a place without one is absent.
type Prescription struct {
	Items   []sessions.Item
	Band    Band
	Fits    map[int]Fit
	Carries map[int]map[sides.Working]loading.Carry
}

// Prescribe makes the items of a suggestion: the ladder's starting dose, then, where
// height, body mass and a hold are known, the dose of the holds that ends within the
// band and the weights that ask the planned share of the weaker side. A suggestion that
// asks for care keeps the ladder's smaller weights.
func Prescribe(d *record.Doc, p Practice, s progression.Suggestion) Prescription {
	known, err := Capacity(d)
	return PrescribeFor(known, err == nil, p, s)
}

// PrescribeFor is Prescribe with capacities that were worked out before; isKnown false
// stands for height or body mass missing.
func PrescribeFor(known Capacities, isKnown bool, practice Practice, s progression.Suggestion,
) Prescription {
	p := Prescription{
		Band: BandFor(s), Fits: map[int]Fit{},
		Carries: map[int]map[sides.Working]loading.Carry{},
	}
	for i, item := range s.Items {
		p.Items = append(p.Items, practice.Item(item, i))
	}
	if !isKnown {
		return p
	}
	for i := range p.Items {
		if p.Band != Easy {
			weighed, carries, ok := known.Weigh(p.Items[i], practice.ImplementsG)
			if ok {
				p.Items[i], p.Carries[i] = weighed, carries
			}
		}
		if fitted, fit, ok := known.Fit(practice.Edition, p.Items, i, p.Band, p.Items[i]); ok {
			p.Items[i], p.Fits[i] = fitted, fit
		}
	}
	return p
}

// BandFor is the band that a suggestion's rules ask for: easy where pain asks for care.
func BandFor(s progression.Suggestion) Band {
	for _, r := range s.Rules {
		if r.Key == "rule.pain_3_to_5" || r.Key == "rule.test_stopped_by_pain" {
			return Easy
		}
	}
	return Steady
}
