package symmetry

import (
	"math"
	"sort"

	"evenhold/internal/sides"
)

// visit holds what the likelihood needs of one visit: for each side (0 left, 1
// right) how many values, their mean log and the lower bounds' logs, and the sum
// of squares of the values around the mean of their side.
type visit struct {
	n      [2]float64
	mean   [2]float64
	around float64
	bounds [2][]float64
}

// visitsOf sorts usable trials into visits, in order of the visit number so that
// the order of the trials cannot change the result.
func visitsOf(trials []Trial) (visits []visit, counts [2]Count, leftOutCount int) {
	type logs struct{ values, bounds [2][]float64 }
	found := map[int]*logs{}
	var numbers []int
	for _, t := range trials {
		read := t.reading()
		if read == leftOut {
			leftOutCount++
			continue
		}
		v := found[t.Visit]
		if v == nil {
			v = &logs{}
			found[t.Visit] = v
			numbers = append(numbers, t.Visit)
		}
		side := 0
		if t.Side == sides.WorksRight {
			side = 1
		}
		log := math.Log(t.Hold.Seconds())
		if read == value {
			v.values[side] = append(v.values[side], log)
			counts[side].Values++
		} else {
			v.bounds[side] = append(v.bounds[side], log)
			counts[side].Bounds++
		}
	}
	sort.Slice(numbers, func(i, j int) bool { return numbers[i] < numbers[j] })
	for _, number := range numbers {
		l := found[number]
		visits = append(visits, newVisit(l.values, l.bounds))
	}
	return visits, counts, leftOutCount
}

func newVisit(values, bounds [2][]float64) visit {
	v := visit{bounds: bounds}
	for side := range values {
		sort.Slice(values[side], func(i, j int) bool { return values[side][i] < values[side][j] })
		sort.Slice(bounds[side], func(i, j int) bool { return bounds[side][i] < bounds[side][j] })
		v.n[side] = float64(len(values[side]))
		for _, log := range values[side] {
			v.mean[side] += log / v.n[side]
		}
		for _, log := range values[side] {
			v.around += (log - v.mean[side]) * (log - v.mean[side])
		}
	}
	return v
}

// Nodes and weights of five-point Gauss-Hermite quadrature for a standard normal
// variable: Handbook of Mathematical Functions, NBS Applied Mathematics Series
// 55, 1964, table 25.10, nodes times √2 and weights over √π.
var hermite = [5]struct{ x, weight float64 }{
	{-2.8569700138728056, 0.011257411327720691},
	{-1.3556261799742659, 0.22207592200561266},
	{0, 8.0 / 15},
	{1.3556261799742659, 0.22207592200561266},
	{2.8569700138728056, 0.011257411327720691},
}

// density is the joint log density of the person's mean log endurance m and the
// log difference d (right minus left) with the trials, for one trial SD. The
// visit effects are integrated out: exactly for the values, by quadrature for
// the lower bounds. It is concave in (m, d).
type density struct {
	visits  []visit
	level   float64 // mean and SD of m before the trials
	levelSD float64
	sideSD  float64
	trialSD float64
	visitSD float64
}

func (p density) at(m, d float64) float64 {
	a, b := (m-p.level)/p.levelSD, d/p.sideSD
	sum := -(a*a+b*b)/2 - math.Log(2*math.Pi*p.levelSD*p.sideSD)
	for i := range p.visits {
		sum += p.visit(&p.visits[i], [2]float64{m - d/2, m + d/2})
	}
	return sum
}

// visit is the log likelihood of one visit, given the true log endurance of both
// sides.
func (p density) visit(v *visit, level [2]float64) float64 {
	trial, shared := p.trialSD*p.trialSD, p.visitSD*p.visitSD
	n := v.n[0] + v.n[1]
	var sum, squares float64
	squares = v.around
	for side := range level {
		off := v.mean[side] - level[side]
		sum += v.n[side] * off
		squares += v.n[side] * off * off
	}
	total := trial + n*shared
	log := -(n*math.Log(2*math.Pi*trial) + math.Log(total/trial) +
		(squares-shared*sum*sum/total)/trial) / 2
	if len(v.bounds[0])+len(v.bounds[1]) == 0 {
		return log
	}
	// Given the values, the visit effect is normal with this mean and SD.
	mean, sd := shared*sum/total, math.Sqrt(shared*trial/total)
	var weighted float64
	for _, node := range hermite {
		weighted += node.weight * p.boundsHeld(v, level, mean+sd*node.x)
	}
	if weighted > math.SmallestNonzeroFloat64/1e-16 {
		return log + math.Log(weighted)
	}
	// All but impossible: the logarithm at the middle of the visit effect keeps
	// the slope that leads back to where the trials are possible.
	for side := range level {
		for _, b := range v.bounds[side] {
			log += logNormalCDF((level[side] + mean - b) / p.trialSD)
		}
	}
	return log
}

// boundsHeld is the probability that every hold that was cut short would have
// lasted longer, for one value of the visit effect.
func (p density) boundsHeld(v *visit, level [2]float64, effect float64) float64 {
	product := 1.0
	for side := range level {
		for _, b := range v.bounds[side] {
			if z := (level[side] + effect - b) / p.trialSD; z < 7 {
				product *= normalCDF(z)
			}
		}
	}
	return product
}

// hasBounds reports whether any trial is a lower bound. Without one the density
// is exactly normal.
func (p density) hasBounds() bool {
	for i := range p.visits {
		if len(p.visits[i].bounds[0])+len(p.visits[i].bounds[1]) > 0 {
			return true
		}
	}
	return false
}
