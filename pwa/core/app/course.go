package app

import (
	"slices"
	"time"

	"evenhold/internal/loading"
	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// planCourse adds to the items of a plan what its whole series of holds, carries and
// rests is predicted to do to each side, and how that was come by. Where nothing can be
// predicted it says what is missing.
func (a *App) planCourse(v *View, d *record.Doc, items []sessions.Item) {
	known, err := a.capacities(d)
	if err != nil || known.Weaker() == "" {
		v.Lines = append(v.Lines, missing(err))
		return
	}
	courses := map[sides.Working]planning.Course{}
	for _, w := range bothSides {
		course, err := planning.Predict(known.Of(w), led(items))
		if err != nil {
			continue // this side was never tested: the other half stays
		}
		courses[w] = course
		working := workingView(course.Working)
		working.Title = say("course.working_" + string(w))
		v.Workings = append(v.Workings, working)
	}
	for i, item := range items {
		v.Items[i].Course = courseOf(courses, i, item)
	}
}

// led are the items as they are led: one that waits for a clinician has no sets. Each keeps
// its place.
func led(items []sessions.Item) []sessions.Item {
	all := slices.Clone(items)
	for i := range all {
		if all[i].Waits {
			all[i].Reps = nil
		}
	}
	return all
}

// dosed is what a record tells of capacity and dose, kept until the record changes.
type dosed struct {
	n          int // operations of the record
	practice   int // and of the practice's document
	known      planning.Capacities
	err        error
	prescribed *planning.Prescription
}

func (a *App) dosed(d *record.Doc) *dosed {
	if kept, found := a.doses[d.ID()]; found && kept.n == d.Len() &&
		kept.practice == a.practiceLen() {
		return kept
	}
	known, err := planning.Capacity(d)
	a.doses = map[record.ID]*dosed{d.ID(): {
		n: d.Len(), practice: a.practiceLen(), known: known, err: err,
	}}
	return a.doses[d.ID()]
}

func (a *App) capacities(d *record.Doc) (planning.Capacities, error) {
	kept := a.dosed(d)
	return kept.known, kept.err
}

// prescribe is planning.Prescribe of the suggestion that the record leads to.
func (a *App) prescribe(d *record.Doc, s progression.Suggestion) planning.Prescription {
	kept := a.dosed(d)
	if kept.prescribed == nil {
		kept.prescribed = ptr(planning.PrescribeFor(kept.known, kept.err == nil, a.practice(), s))
	}
	return *kept.prescribed
}

// missing says which entry a prediction waits for.
func missing(err error) Text {
	if field, ok := err.(*loading.FieldError); ok {
		return say("course.missing_" + field.Field)
	}
	return say("course.missing_test")
}

// courseOf is one exercise's part of a plan's course, a row for each set.
func courseOf(courses map[sides.Working]planning.Course, at int, item sessions.Item) *Course {
	step, _ := progression.StepByID(item.Step)
	c := &Course{
		Title: say("course.title"),
		Left:  placement(step, sides.WorksLeft), Right: placement(step, sides.WorksRight),
	}
	for _, w := range bothSides {
		for _, p := range courses[w].Points {
			if p.Item == at {
				c.take(w, p)
			}
		}
	}
	if len(c.Sets) == 0 {
		return nil
	}
	return c
}

// take puts one repetition into its set.
func (c *Course) take(w sides.Working, p planning.Point) {
	for int64(len(c.Sets)) < p.Set {
		c.Sets = append(c.Sets, CourseSet{Label: say("course.set", "n", len(c.Sets)+1)})
	}
	set := &c.Sets[p.Set-1]
	side := &set.Left
	if w == sides.WorksRight {
		side = &set.Right
	}
	if *side == nil {
		*side = &CourseSide{}
	}
	s := *side
	s.Bars = append(s.Bars, CourseBar{
		thousandth(p.LowFatigue), thousandth(p.Fatigue), thousandth(p.HighFatigue),
	})
	if p.IsEnd {
		s.Reserve, s.Care = reserveText(p.Mark), p.Fails == loading.FailsYes
	}
}

// reserveText says how much longer the load could be held at the end of a set.
func reserveText(m loading.Mark) Text {
	switch {
	case m.Fails == loading.FailsYes:
		return say("course.fails")
	case m.Reserve >= mostReserve:
		return say("course.ample", "minutes", int64(mostReserve/time.Minute))
	}
	key := "course.reserve"
	if m.HighReserve >= mostReserve {
		key = "course.reserve_open"
	}
	return say(key, "s", seconds(m.Reserve.Milliseconds()),
		"low", seconds(m.LowReserve.Milliseconds()), "high", seconds(m.HighReserve.Milliseconds()))
}

// thousandth rounds a fraction: the two builds of the core differ in the last bits of an
// exponential, and must not differ in what they answer.
func thousandth(f float64) float64 { return float64(round(1000*f)) / 1000 }

// mostReserve is as far ahead as a reserve is told in seconds (ours): beyond it the models
// say little.
const mostReserve = 10 * time.Minute

// tooHeavy says that none of the weights at hand is light enough for an exercise, "" where
// one is.
func tooHeavy(p planning.Prescription, at int, implementsG []int64) Text {
	for _, w := range bothSides {
		carry, found := p.Carries[at][w]
		if found && carry.Limit == loading.LimitNoImplement {
			return say("fit.too_heavy", "kg", figures(float64(carry.BeforeRoundingG)/1000),
				"lightest", lightestKG(implementsG))
		}
	}
	return ""
}

// lightestKG is the lightest weight at hand; 1 where none are listed, for then weights are
// suggested in whole kilograms.
func lightestKG(implementsG []int64) float64 {
	if len(implementsG) == 0 {
		return 1
	}
	return float64(slices.Min(implementsG)) / 1000
}

// planEnds adds to each item how it ends on the weaker side, beside what is planned.
func (a *App) planEnds(v *View, d *record.Doc, items []sessions.Item, band planning.Band) {
	known, err := a.capacities(d)
	for i, item := range items {
		fit, ok := known.Ends(a.practice().Edition, led(items), i, band)
		if err != nil || !ok {
			continue
		}
		key := "fit.outside"
		switch {
		case fit.IsInBand && isHold(item.Step):
			key = "fit.in_band"
		case fit.IsInBand:
			key = "fit.below"
		}
		v.Items[i].Why = append(v.Items[i].Why, say(key, "side", sideWord(fit.Works), "percent",
			round(100*fit.Fatigue), "low", round(100*band.Low), "high", round(100*band.High),
			"hardest", round(100*fit.Hardest)))
	}
}

// carryLines say how a suggested weight was chosen, where it was.
func carryLines(p planning.Prescription, at int) []Text {
	var lines []Text
	for _, w := range bothSides {
		if carry, found := p.Carries[at][w]; found {
			if carry.Limit == loading.LimitNoImplement {
				continue // said with the dose
			}
			lines = append(lines, say("fit.carry_"+string(w),
				"kg", figures(float64(carry.BeforeRoundingG)/1000),
				"limit", say("limit."+string(carry.Limit))))
		}
	}
	return lines
}
