package planning

import (
	"time"

	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// Paces at which a series is laid out where the plan does not say a time: ours.
const (
	walkMMPerS = 1000
	liftRep    = 4 * time.Second
)

// Point is how a working side stands at the end of one repetition.
type Point struct {
	Item  int // place in the plan, from 0
	Set   int64
	Of    int64
	IsEnd bool // of its set
	loading.Mark
}

// Course is what a whole plan, its holds, carries, lifts and rests in the order in which
// they are led, does to one working side.
type Course struct {
	loading.Course
	Points []Point
}

// Predict runs a plan for one side. The errors are those of loading.Capacity.Course and
// loading.Load.
func Predict(c loading.Capacity, items []sessions.Item) (Course, error) {
	spans, points, err := layOut(c, items)
	if err != nil {
		return Course{}, err
	}
	series, err := c.Course(spans)
	if err != nil {
		return Course{}, err
	}
	for i := range points {
		points[i].Mark = series.Marks[points[i].at]
	}
	out := Course{Course: series}
	for _, p := range points {
		out.Points = append(out.Points, p.Point)
	}
	return out, nil
}

// placed is a point before it is known: at is its span.
type placed struct {
	Point
	at int
}

// layOut is the plan as spans of one side. While the other side works, this one rests.
func layOut(c loading.Capacity, items []sessions.Item) ([]loading.Span, []placed, error) {
	var spans []loading.Span
	var points []placed
	add := func(length time.Duration, d loading.Demand) {
		spans = append(spans, loading.Span{Length: length, Demand: d})
	}
	for at := range items {
		turns := sessions.Turns(items[at:at+1], isHold)
		demand := map[int64]loading.Demand{}
		for _, t := range turns {
			if t.Working != c.Works {
				add(turnLength(t)+milliseconds(t.RestSetMS), loading.Demand{})
				continue
			}
			d, known := demand[t.LoadG]
			if !known {
				var err error
				if d, err = demandOf(c, t.Step, t.LoadG); err != nil {
					return nil, nil, err
				}
				demand[t.LoadG] = d
			}
			p := Point{Item: at, Set: t.Number, Of: t.Of}
			if !t.IsHold {
				add(turnLength(t), d)
				p.IsEnd = true
				points = append(points, placed{p, len(spans) - 1})
			} else {
				for _, s := range t.Spans() {
					length := milliseconds(s.EndMS - s.FromMS)
					if s.Kind != "hold" {
						add(length, loading.Demand{})
						continue
					}
					add(length, d)
					p.IsEnd = s.Rep == t.Reps
					points = append(points, placed{p, len(spans) - 1})
				}
			}
			add(milliseconds(t.RestSetMS), loading.Demand{})
		}
	}
	return spans, points, nil
}

func demandOf(c loading.Capacity, stepID string, loadG int64) (loading.Demand, error) {
	step, _ := progression.StepByID(stepID)
	setup := loading.Setup{Posture: loading.Posture(step.Posture), Works: c.Works}
	if setup.Posture.HasWeight() {
		setup.LoadG = loadG
	}
	statics, err := loading.Load(c.Body, setup)
	return statics.Demand, err
}

func turnLength(t sessions.Turn) time.Duration {
	if t.IsHold {
		return milliseconds(t.LengthMS())
	}
	step, _ := progression.StepByID(t.Step)
	return lengthOf(step, t.TimeMS, t.DistanceMM, t.Reps)
}

// lengthOf is how long one carry, or a set of lifts, lasts.
func lengthOf(step progression.Step, timeMS, distanceMM, reps int64) time.Duration {
	switch {
	case step.Kind == progression.ByLift:
		return time.Duration(reps) * liftRep
	case timeMS > 0:
		return milliseconds(timeMS)
	}
	return milliseconds(distanceMM * 1000 / walkMMPerS)
}

func isHold(stepID string) bool {
	step, _ := progression.StepByID(stepID)
	return step.Side == progression.ByDown
}

// weakerOf is the side that a plan is fitted to: the one with less capacity.
func (c Capacities) weakerOf() loading.Capacity {
	left, errL := c.Left.Strength()
	right, errR := c.Right.Strength()
	if errL != nil || errR == nil && right.MedianNM < left.MedianNM {
		return c.Right
	}
	return c.Left
}

// Weaker is the working side with less capacity, empty when neither is known.
func (c Capacities) Weaker() sides.Working {
	if !c.Left.IsKnown() && !c.Right.IsKnown() {
		return ""
	}
	return c.weakerOf().Works
}
