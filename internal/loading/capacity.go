package loading

import (
	"math"
	"time"

	"evenhold/internal/sides"
	"evenhold/internal/working"
)

// Capacity is what is believed about one working side: the sideways moment that
// it could just resist for a moment, as a log-normal distribution. Make it with
// Estimate; the zero value knows nothing.
type Capacity struct {
	Works    sides.Working
	Body     Body
	Observed int // efforts that gave a value
	Bounds   int // efforts that gave a lower bound
	LeftOut  int // efforts of this side that could not be used
	History  []Past
	belief   belief
}

// Past is the estimate as it stood after one effort.
type Past struct {
	AtMS                    int64
	LowNM, MedianNM, HighNM float64 // 90 % interval
	End                     End
}

// IsKnown reports whether anything but the starting assumption is in c.
func (c Capacity) IsKnown() bool { return c.Observed+c.Bounds > 0 }

// Estimate learns the capacity of one working side from everything that this
// person did, tests and training alike, in any order. Efforts of the other side
// are passed over. It returns a *FieldError when mass or stature is missing, and
// ErrSide when works is not said.
func Estimate(b Body, works sides.Working, efforts []Effort) (Capacity, error) {
	if err := b.check(); err != nil {
		return Capacity{}, err
	}
	if works != sides.WorksLeft && works != sides.WorksRight {
		return Capacity{}, ErrSide
	}
	s := newShape(b)
	c := Capacity{Works: works, Body: b, belief: startingBelief(s, works)}
	for _, e := range efforts {
		if e.Setup.Works == works && !e.hasMeaning() {
			c.LeftOut++
		}
	}
	moments, holds := map[Setup]float64{}, map[series]float64{}
	lastMS, started := int64(0), false
	for _, e := range inOrder(efforts, works) {
		momentNM, seen := moments[e.Setup]
		if !seen {
			momentNM, _ = s.pose(e.Setup).solve()
			momentNM = math.Abs(momentNM)
			moments[e.Setup] = momentNM
		}
		if momentNM < 1 { // ours: too little to tell anything of the trunk
			c.LeftOut++
			continue
		}
		if started {
			days := math.Max(0, float64(e.AtMS)-float64(lastMS)) / dayMS
			c.belief.cov[0][0] += driftPerDay * math.Min(days, 3650)
		}
		lastMS, started = e.AtMS, true
		work := series{e.Held, e.Rest, e.Reps}
		heldS, seen := holds[work]
		if !seen {
			heldS = evenHoldS(e.Held.Seconds(), e.Rest.Seconds(), e.Reps)
			holds[work] = heldS
		}
		c.learn(e, momentNM, heldS)
	}
	return c, nil
}

// series is what evenHoldS depends on: a year's log repeats few of them.
type series struct {
	held, rest time.Duration
	reps       int
}

// startingBelief: capacity such that the straight-leg hold lasts priorHoldS, weakly;
// each posture off by its own statics' spread and by the endurance curve's.
func startingBelief(s shape, works sides.Working) belief {
	var b belief
	straight, _ := s.pose(Setup{Posture: StraightLeg, Works: works}).solve()
	b.mean[0] = math.Log(straight) - logShare(math.Log(priorHoldS))
	b.cov[0][0] = priorSD * priorSD
	for i, p := range postures {
		setup := Setup{Posture: p, Works: works}
		if p.HasWeight() {
			setup.LoadG = 10_000 // any weight: the relative spread is the same
		}
		moment, _ := s.pose(setup).solve()
		sdNM, _ := spread(s, setup)
		relative := sdNM / moment
		curve := curveSD / curveExponent
		b.cov[1+i][1+i] = relative*relative + curve*curve
	}
	return b
}

// learn takes in one effort that asked as much as a single hold of heldS. An
// exertion after an effort that could have gone on tells, roughly, how much longer:
// effort is taken to grow evenly with time held (from memory), so that 5 of 10 means
// half way.
func (c *Capacity) learn(e Effort, momentNM, heldS float64) {
	i := e.Setup.Posture.index()
	y := math.Log(momentNM) - logShare(math.Log(heldS))
	perTime := math.Abs(1 / curveExponent)
	if e.End == GaveWay {
		c.Observed++
		c.belief.value(i, y, trialSD*perTime)
	} else {
		c.Bounds++
		c.belief.atLeast(i, y, trialSD*perTime)
		if e.Exertion >= exertionFrom && e.Exertion <= exertionFull {
			further := math.Log(exertionFull / float64(e.Exertion))
			c.belief.value(i, y+further*perTime, exertionSD*perTime)
		}
	}
	low, median, high := c.moment()
	c.History = append(c.History, Past{e.AtMS, low, median, high, e.End})
}

func (c Capacity) moment() (lowNM, medianNM, highNM float64) {
	return logBand(c.belief.mean[0], c.belief.cov[0][0])
}

func logBand(mean, variance float64) (low, median, high float64) {
	sd := math.Sqrt(math.Max(0, variance))
	return math.Exp(mean - z90*sd), math.Exp(mean), math.Exp(mean + z90*sd)
}

// Strength is the capacity as a moment: the median and a 90 % interval.
type Strength struct {
	Works                   sides.Working
	LowNM, MedianNM, HighNM float64
	Working                 working.Working
}

// Strength returns ErrUnknown before anything was learnt.
func (c Capacity) Strength() (Strength, error) {
	if !c.IsKnown() {
		return Strength{}, ErrUnknown
	}
	r := Strength{Works: c.Works}
	r.LowNM, r.MedianNM, r.HighNM = c.moment()
	r.Working = c.start("loading.working.capacity", "N.m", r.LowNM, r.HighNM)
	straightNM := c.straightNM()
	holdS := math.Exp(c.logHold(StraightLeg.index(), straightNM))
	share := math.Exp(logShare(math.Log(holdS)))
	r.Working.Steps = []working.Step{
		{Key: "loading.step.straight_moment", Formula: "statics of the straight-leg hold",
			Value: straightNM, Unit: "N.m"},
		{Key: "loading.step.straight_hold", Formula: "weighed over all efforts",
			Value: holdS, Unit: "s"},
		{Key: "loading.step.share", Formula: "(hold / 22.69)^(−1/2.27)", Value: share, Unit: "1"},
		{Key: "loading.step.straight_capacity", Formula: "moment / share",
			Value: straightNM / share, Unit: "N.m"},
		{Key: "loading.step.capacity", Value: r.MedianNM, Unit: "N.m",
			Formula: "the same over all postures, weighed by how sure each is"},
	}
	r.Working.Sources = []working.Source{
		sourcePowerLaw, sourceTrialNoise, sourceStatics, sourceEffort,
	}
	return r, nil
}

func (c Capacity) straightNM() float64 {
	m, _ := newShape(c.Body).pose(Setup{Posture: StraightLeg, Works: c.Works}).solve()
	return m
}

// logHold is the log of the median hold in seconds at a moment in posture i.
func (c Capacity) logHold(i int, momentNM float64) float64 {
	mean, _ := c.belief.seen(i)
	return logHoldS(math.Log(momentNM) - mean)
}

// start begins the working of anything that rests on c.
func (c Capacity) start(key, unit string, low, high float64) working.Working {
	w := working.Working{
		Key: key, Unit: unit, Low: low, High: high, Level: .90,
		Inputs: append(bodyInputs(c.Body),
			working.Input{Key: "loading.input.observed", Value: float64(c.Observed), Unit: "1"},
			working.Input{Key: "loading.input.bounds", Value: float64(c.Bounds), Unit: "1"}),
		Cautions: []string{"loading.caution.own_statics"},
	}
	if c.Observed == 0 {
		w.Cautions = append(w.Cautions, "loading.caution.only_bounds")
	}
	return w
}

// Hold is how long a posture can be held: the median and a 90 % interval, each up
// to Longest. Share is the part of the capacity that it asks.
type Hold struct {
	Demand                           Demand
	Works                            sides.Working
	Low, Median, High                time.Duration
	LowShare, MedianShare, HighShare float64
	Working                          working.Working
}

// Hold predicts the next hold at d. It returns ErrPosture for a demand that Load
// did not make, and ErrUnknown before anything was learnt.
func (c Capacity) Hold(d Demand) (Hold, error) {
	i := d.Posture.index()
	switch {
	case i < 0 || !(d.MomentNM >= 0) || math.IsInf(d.MomentNM, 1):
		return Hold{}, ErrPosture
	case !c.IsKnown():
		return Hold{}, ErrUnknown
	}
	r := Hold{Demand: d, Works: c.Works, Low: Longest, Median: Longest, High: Longest}
	if d.MomentNM > 0 {
		mean, variance := c.belief.seen(i)
		logM := math.Log(d.MomentNM)
		r.LowShare, r.MedianShare, r.HighShare = logBand(logM-mean, variance)
		low, median, high := logBand(c.logHold(i, d.MomentNM),
			curveExponent*curveExponent*variance+trialSD*trialSD)
		r.Low, r.Median, r.High = duration(low), duration(median), duration(high)
	}
	r.Working = c.start("loading.working.hold", "s", r.Low.Seconds(), r.High.Seconds())
	r.explain()
	return r, nil
}

func (r *Hold) explain() {
	w := &r.Working
	w.Inputs = append(w.Inputs, working.Input{
		Key: "loading.input.moment", Value: r.Demand.MomentNM, Unit: "N.m"})
	w.Steps = []working.Step{
		{Key: "loading.step.share", Formula: "moment / capacity", Value: r.MedianShare, Unit: "1"},
		{Key: "loading.step.hold", Formula: "22.69 · share^−2.27",
			Value: r.Median.Seconds(), Unit: "s"},
	}
	w.Sources = []working.Source{sourcePowerLaw, sourceTrialNoise, sourceStatics}
	if r.MedianShare < curveFrom || r.MedianShare > curveTo {
		w.Cautions = append(w.Cautions, "loading.caution.beyond_curve")
		return
	}
	w.Steps = append(w.Steps, working.Step{Key: "loading.step.second_model",
		Formula: "−ln(1 − 0.00075·(1−share)/(0.00755·share)) / 0.00075",
		Value:   SustainedAt(r.MedianShare).Seconds(), Unit: "s"})
	w.Sources = append(w.Sources, sourceFatigue)
	if r.MedianShare >= .15 {
		w.Steps = append(w.Steps, working.Step{Key: "loading.step.old_curve",
			Formula: "60·(−1.5 + 2.1/share − 0.6/share² + 0.1/share³)",
			Value:   oldCurveS(r.MedianShare), Unit: "s"})
		w.Sources = append(w.Sources, sourceOldLine)
	}
}
