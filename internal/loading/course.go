package loading

import (
	"math"
	"time"

	"evenhold/internal/sides"
	"evenhold/internal/working"
)

// Span is a stretch of constant load on one working side. A Demand with MomentNM 0
// is rest for this side; work of the other side is rest too.
type Span struct {
	Length time.Duration
	Demand Demand
}

// Fails says whether a series outlasts the person.
type Fails string

// The answers: under no assumption of the band, under some, or as expected.
const (
	FailsNo    Fails = "no"
	FailsMaybe Fails = "maybe"
	FailsYes   Fails = "yes"
)

// Mark is how a working side stands at the end of a span. Fatigue is the part of
// the way to failing at the span's load, 0 fresh to 1 spent. Reserve is how much
// longer that load could be held. After a rest, the load meant is that of the next
// span that works, or of the last one. Low and high bound the 90 % interval of the
// capacity, both readings of it, and half to twice the recovery at rest.
type Mark struct {
	At                               time.Duration // from the start of the series
	LowFatigue, Fatigue, HighFatigue float64
	LowReserve, Reserve, HighReserve time.Duration
	Fails                            Fails // by now
}

// Course is what a series of work and rest does to one working side. Marks has one
// entry per span.
type Course struct {
	Works   sides.Working
	Marks   []Mark
	Fails   Fails
	Working working.Working
}

const mostSpans = 5000

// reading is one set of assumptions about a person. Two models of endurance
// disagree by a quarter; byHold takes the share that gives the predicted hold in
// the fatigue model, else the share is taken as it is.
type reading struct {
	byHold     bool
	quantile   float64 // of log capacity, in standard deviations
	restFactor float64
}

// readings: the first is the expected one. The rest factor is borrowed for the
// trunk, so it is halved on the tired side and doubled on the fresh one: ours.
var readings = [...]reading{
	{byHold: true, restFactor: restFactor},
	{restFactor: restFactor},
	{byHold: true, quantile: -z90, restFactor: restFactor / 2},
	{quantile: -z90, restFactor: restFactor / 2},
	{byHold: true, quantile: z90, restFactor: restFactor * 2},
	{quantile: z90, restFactor: restFactor * 2},
}

// Course runs a series from fresh. When the load cannot be met any more, the
// person is taken to rest until the span ends. It returns ErrSpan for a negative
// length, a moment that is not a number, or more than 5000 spans, ErrPosture for
// an unknown posture and ErrUnknown before anything was learnt.
func (c Capacity) Course(spans []Span) (Course, error) {
	if err := checkSpans(spans); err != nil {
		return Course{}, err
	}
	if !c.IsKnown() {
		return Course{}, ErrUnknown
	}
	r := Course{Works: c.Works, Marks: make([]Mark, len(spans)), Fails: FailsNo}
	for n, reading := range readings {
		c.run(reading, spans, r.Marks, n == 0)
	}
	if len(r.Marks) > 0 {
		r.Fails = r.Marks[len(r.Marks)-1].Fails
	}
	r.explain(c, spans)
	return r, nil
}

func checkSpans(spans []Span) error {
	if len(spans) > mostSpans {
		return ErrSpan
	}
	for _, s := range spans {
		m := s.Demand.MomentNM
		if s.Length < 0 || s.Length > 24*time.Hour || !(m >= 0) || math.IsInf(m, 1) {
			return ErrSpan
		}
		if m > 0 && s.Demand.Posture.index() < 0 {
			return ErrPosture
		}
	}
	return nil
}

func (c Capacity) shareOf(d Demand, r reading) float64 {
	if d.MomentNM <= 0 {
		return 0
	}
	i := d.Posture.index()
	mean, variance := c.belief.seen(i)
	logged := math.Log(d.MomentNM) - mean - r.quantile*math.Sqrt(math.Max(0, variance))
	if r.byHold {
		return sustainedShare(math.Exp(logHoldS(logged)))
	}
	return math.Exp(logged)
}

// run walks one reading through the spans and widens the marks by it.
func (c Capacity) run(r reading, spans []Span, marks []Mark, expected bool) {
	shares := make([]float64, len(spans))
	for i, s := range spans {
		shares[i] = c.shareOf(s.Demand, r)
	}
	next := nextWork(shares)
	f, failed := 0.0, false
	var at time.Duration
	for i, s := range spans {
		var heldS float64
		f, heldS = fatigueAfter(f, shares[i], s.Length.Seconds(), r.restFactor)
		short := heldS < s.Length.Seconds()
		failed = failed || short
		left, tired := Longest, spent(f, next[i])
		if next[i] > 0 {
			left = reserve(f, next[i])
		}
		if short {
			left, tired = 0, 1
		}
		at += s.Length
		m := &marks[i]
		if expected {
			*m = Mark{at, tired, tired, tired, left, left, left, FailsNo}
			if failed {
				m.Fails = FailsYes
			}
			continue
		}
		m.LowFatigue, m.HighFatigue = min(m.LowFatigue, tired), max(m.HighFatigue, tired)
		m.LowReserve, m.HighReserve = min(m.LowReserve, left), max(m.HighReserve, left)
		if failed && m.Fails == FailsNo {
			m.Fails = FailsMaybe
		}
	}
}

// nextWork is, for each span, its own share, or for a rest that of the next span
// that works, or of the last one; 0 when nothing works.
func nextWork(shares []float64) []float64 {
	next := make([]float64, len(shares))
	last := 0.0
	for i, s := range shares {
		if s > 0 {
			last = s
		}
		next[i] = last
	}
	following := 0.0
	for i := len(shares) - 1; i >= 0; i-- {
		if shares[i] > 0 {
			following = shares[i]
		}
		if following > 0 {
			next[i] = following
		}
	}
	return next
}

func (r *Course) explain(c Capacity, spans []Span) {
	var workS, restS float64
	for _, s := range spans {
		if s.Demand.MomentNM > 0 {
			workS += s.Length.Seconds()
		} else {
			restS += s.Length.Seconds()
		}
	}
	var last Mark
	if len(r.Marks) > 0 {
		last = r.Marks[len(r.Marks)-1]
	}
	w := c.start("loading.working.course", "s", last.LowReserve.Seconds(),
		last.HighReserve.Seconds())
	w.Inputs = append(w.Inputs,
		working.Input{Key: "loading.input.work", Value: workS, Unit: "s"},
		working.Input{Key: "loading.input.rest", Value: restS, Unit: "s"})
	w.Steps = []working.Step{
		{Key: "loading.step.fatigue", Value: last.Fatigue, Unit: "1",
			Formula: "f / (1 − share); work: f = e + (f − e)·exp(−0.00075·t), " +
				"e = 0.00755·share/0.00075; rest: f = f·exp(−15·0.00075·t)"},
		{Key: "loading.step.reserve", Formula: "ln((e − f)/(e − (1 − share))) / 0.00075",
			Value: last.Reserve.Seconds(), Unit: "s"},
	}
	w.Sources = []working.Source{sourceFatigue, sourceRest, sourcePowerLaw, sourceStatics}
	w.Cautions = append(w.Cautions, "loading.caution.rest_borrowed",
		"loading.caution.two_models")
	r.Working = w
}
