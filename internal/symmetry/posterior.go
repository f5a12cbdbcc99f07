package symmetry

import "math"

// posterior is what is believed of the log difference (right minus left) after
// the trials: its density on an even grid, and its summaries.
type posterior struct {
	from, step float64
	height     []float64 // density at each grid point
	below      []float64 // probability below each grid point, 0 to 1
	mean, sd   float64
	trialSD    float64 // posterior mean of the trial SD
}

// peak is a density's highest point, with the curvature there.
type peak struct {
	m, d   float64
	height float64
	slope  float64 // shift of the best m for each unit of d
	sdM    float64 // SD of m for a fixed d
	sdD    float64 // SD of d with m free
}

// drop is how far below its peak, in natural log units, a density is cut off:
// e^-14 is under one in a million.
const drop = 14

// peak climbs by Newton steps with halving. The density is strongly concave, so
// it has one peak and any start finds it; derivatives by central differences are
// exact for a normal density but for rounding.
func (p density) peak() peak {
	const h = 1e-3
	m, d := p.start(), 0.0
	var mm, md, dd, here float64
	for range 60 {
		here = p.at(m, d)
		up, down := p.at(m+h, d), p.at(m-h, d)
		right, left := p.at(m, d+h), p.at(m, d-h)
		gm, gd := (up-down)/(2*h), (right-left)/(2*h)
		mm = math.Min((up-2*here+down)/(h*h), -1/(p.levelSD*p.levelSD))
		dd = math.Min((right-2*here+left)/(h*h), -1/(p.sideSD*p.sideSD))
		md = (p.at(m+h, d+h) - p.at(m+h, d-h) - p.at(m-h, d+h) + p.at(m-h, d-h)) / (4 * h * h)
		if limit := 0.999 * math.Sqrt(mm*dd); math.Abs(md) > limit {
			md = math.Copysign(limit, md)
		}
		det := mm*dd - md*md
		stepM, stepD := (md*gd-dd*gm)/det, (md*gm-mm*gd)/det
		if math.Abs(stepM)+math.Abs(stepD) < 1e-7 {
			break
		}
		for range 30 {
			if p.at(m+stepM, d+stepD) >= here {
				break
			}
			stepM, stepD = stepM/2, stepD/2
		}
		m, d = m+stepM, d+stepD
	}
	return peak{m: m, d: d, height: here, slope: -md / mm,
		sdM: math.Sqrt(-1 / mm), sdD: math.Sqrt(-mm / (mm*dd - md*md))}
}

// start is the mean of all logs, values and bounds alike.
func (p density) start() float64 {
	sum, n := p.level, 1.0
	for _, v := range p.visits {
		for side := range v.n {
			sum, n = sum+v.n[side]*v.mean[side], n+v.n[side]
			for _, b := range v.bounds[side] {
				sum, n = sum+b, n+1
			}
		}
	}
	return sum / n
}

// reach walks from the peak in steps of sd until the density along the line has
// dropped, and returns the distance walked.
func (p density) reach(k peak, dm, dd, sd float64) float64 {
	for far := 1.0; far <= 60; far++ {
		if p.at(k.m+far*sd*dm, k.d+far*sd*dd) < k.height-drop {
			return far * sd
		}
	}
	return 60 * sd
}

// branch is the posterior for one value of the trial SD.
type branch struct {
	density
	peak
	logWeight float64 // prior weight of this trial SD
	low, high float64 // range of d that matters
	down, up  float64 // range of m around its best value for a given d
	isNormal  bool
}

func newBranch(p density, logWeight float64) branch {
	b := branch{density: p, peak: p.peak(), logWeight: logWeight, isNormal: !p.hasBounds()}
	reach := math.Sqrt(2 * drop)
	b.low, b.high = b.d-reach*b.sdD, b.d+reach*b.sdD
	if !b.isNormal {
		b.low = b.d - p.reach(b.peak, -b.slope, -1, b.sdD)
		b.high = b.d + p.reach(b.peak, b.slope, 1, b.sdD)
		b.down = p.reach(b.peak, -1, 0, b.sdM)
		b.up = p.reach(b.peak, 1, 0, b.sdM)
	}
	return b
}

// evidence is the log of the volume under the normal that fits the peak.
func (b branch) evidence() float64 {
	return b.logWeight + b.height + math.Log(2*math.Pi*b.sdM*b.sdD)
}

// marginal is the log density of d with m integrated out: in closed form when
// normal, else by the trapezoid rule, whose error for a smooth bump falls
// exponentially and at 0.7 SD a step is far below one in a million.
func (b branch) marginal(d float64) float64 {
	if b.isNormal {
		z := (d - b.d) / b.sdD
		return b.logWeight + b.height + math.Log(math.Sqrt(2*math.Pi)*b.sdM) - z*z/2
	}
	step := 0.7 * b.sdM
	if d < b.low || d > b.high {
		return math.Inf(-1)
	}
	best := b.m + b.slope*(d-b.d)
	var sum float64
	for off := -b.down; off <= b.up; off += step {
		sum += math.Exp(b.at(best+off, d) - b.height)
	}
	return b.logWeight + b.height + math.Log(math.Max(sum*step, math.SmallestNonzeroFloat64))
}

// newPosterior integrates over the trial SD, the level and the visits.
func newPosterior(visits []visit, m Model) posterior {
	branches := newBranches(visits, m)
	low, high := branches[0].low, branches[0].high
	narrow := branches[0].sdD
	for _, b := range branches {
		low, high = math.Min(low, b.low), math.Max(high, b.high)
		narrow = math.Min(narrow, b.sdD)
	}
	n := int(math.Min(math.Max((high-low)/(0.35*narrow), 30), 300))
	p := posterior{from: low, step: (high - low) / float64(n)}
	logs, top := make([]float64, n+1), math.Inf(-1)
	heights := make([]float64, n+1)
	var trialSD, total float64
	for k, b := range branches {
		for i := range logs {
			logs[i] = b.marginal(low + float64(i)*p.step)
			if k == 0 {
				top = math.Max(top, logs[i])
			}
		}
		var weight float64
		for i, log := range logs {
			h := math.Exp(math.Min(log-top, 600))
			heights[i] += h
			weight += h
		}
		trialSD += weight * b.trialSD
		total += weight
	}
	p.trialSD = trialSD / total
	p.summarise(heights)
	return p
}

// newBranches spreads the trial SD over its prior: seven values 0.8 SD apart, a
// trapezoid rule on its logarithm. Those with next to no weight are dropped; the
// heaviest comes first.
func newBranches(visits []visit, m Model) []branch {
	nodes := []float64{0}
	if m.TrialSDLogSD > 0 {
		nodes = []float64{-2.4, -1.6, -0.8, 0, 0.8, 1.6, 2.4}
	}
	var all []branch
	heaviest := 0
	for i, z := range nodes {
		all = append(all, newBranch(density{
			visits: visits, level: math.Log(m.Level.Seconds()), levelSD: m.LevelSD,
			sideSD: m.SideSD, trialSD: m.TrialSD * math.Exp(z*m.TrialSDLogSD),
			visitSD: m.VisitSD,
		}, -z*z/2))
		if all[i].evidence() > all[heaviest].evidence() {
			heaviest = i
		}
	}
	kept := []branch{all[heaviest]}
	for i, b := range all {
		if i != heaviest && b.evidence() > kept[0].evidence()-8 {
			kept = append(kept, b)
		}
	}
	return kept
}

// summarise turns heights on the grid into probabilities and moments. The area
// of each step is that of the cubic through both ends with their slopes.
func (p *posterior) summarise(heights []float64) {
	last := len(heights) - 1
	slope := func(i int) float64 {
		if i == 0 || i == last {
			return 0
		}
		return (heights[i+1] - heights[i-1]) / 2
	}
	p.below = make([]float64, last+1)
	var total, mean, square float64
	for i, h := range heights {
		if i > 0 {
			area := (heights[i-1]+h)/2 - (slope(i)-slope(i-1))/12
			p.below[i] = p.below[i-1] + math.Max(area, 0)
		}
		total += h
		mean += h * p.x(i)
	}
	p.mean = mean / total
	for i, h := range heights {
		square += h * (p.x(i) - p.mean) * (p.x(i) - p.mean)
	}
	p.sd = math.Sqrt(square / total)
	all := p.below[last]
	for i := range p.below {
		p.below[i] /= all
		heights[i] /= total * p.step
	}
	p.height = heights
}

func (p posterior) x(i int) float64 { return p.from + float64(i)*p.step }

// probabilityBelow is the probability that the log difference is under d:
// between grid points by the cubic through both probabilities and densities.
func (p posterior) probabilityBelow(d float64) float64 {
	at := (d - p.from) / p.step
	if !(at > 0) {
		return 0
	}
	if at >= float64(len(p.below)-1) {
		return 1
	}
	i := int(at)
	t := at - float64(i)
	rise := p.below[i+1] - p.below[i]
	a, b := p.height[i]*p.step-rise, rise-p.height[i+1]*p.step
	inside := p.below[i] + t*rise + t*(1-t)*(a*(1-t)+b*t)
	return math.Min(math.Max(inside, p.below[i]), p.below[i+1])
}

// quantile is the log difference below which the probability is q, 0 < q < 1.
func (p posterior) quantile(q float64) float64 {
	low, high := p.from, p.x(len(p.below)-1)
	for range 50 {
		if mid := (low + high) / 2; p.probabilityBelow(mid) > q {
			high = mid
		} else {
			low = mid
		}
	}
	return (low + high) / 2
}
