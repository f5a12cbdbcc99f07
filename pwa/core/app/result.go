package app

import (
	"math"
	"strconv"
	"time"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/internal/working"
	"evenhold/sync/record"
)

// result shows a test: unevenness as a shape before it is a number, and what it
// can and cannot tell.
func (a *App) result(d *record.Doc, id string) View {
	tests := sessions.Tests(d)
	at := -1
	for i, t := range tests {
		if t.Is(id) {
			at = i
		}
	}
	if at < 0 {
		return a.person(d)
	}
	test := tests[at]
	step, _ := progression.StepByID(test.Step)
	v := View{
		Screen: "result",
		Head: a.headOf(d, say("result.where", "step", nameOf(step), "on", day(test.StartedMS),
			"at", clockTime(test.StartedMS))),
	}
	v.Head.Back = personRoute(d.ID())
	c := planning.Compare(test)
	v.Finding = findingOf(c)
	a.resultBars(&v, test)
	v.Verdict = say("verdict." + string(c.Verdict))
	v.Detail = verdictDetail(c)
	v.Working = ptr(workingView(c.Working))
	v.Sections = []Section{{Rows: a.resultRows(d, tests, at)}}
	if care := a.flagCare(d); care != nil {
		v.Care = care
	} else if stoppedByPain(test) {
		v.Care = &Care{Title: say("care.test_pain"), Lines: []Text{say("care.pain_ask")}}
	}
	v.Actions = []Action{{
		Label: say("result.plan"), Route: personRoute(d.ID()) + "/plan", Kind: "main",
	}}
	return v
}

func stoppedByPain(t sessions.Test) bool {
	for _, trial := range t.Trials {
		if trial.Stop == sessions.StopPain {
			return true
		}
	}
	return false
}

func (a *App) resultBars(v *View, test sessions.Test) {
	left, hasLeft := test.Last(sides.WorksLeft)
	right, hasRight := test.Last(sides.WorksRight)
	// The longer bar leaves room for its whisker.
	scale := float64(max(left.HeldMS, right.HeldMS)) * 1.3
	if scale == 0 {
		return
	}
	if hasLeft {
		v.Left = sideResult(left, scale)
	}
	if hasRight {
		v.Right = sideResult(right, scale)
	}
}

// z90 is the normal quantile that leaves a twentieth on either side.
const z90 = 1.645

// sideResult draws a hold with the span in which it would fall again, 9 times
// in 10, by the test's own noise; a lower bound has no such span.
func sideResult(t sessions.Trial, scale float64) *SideResult {
	r := &SideResult{
		HeldS: seconds(t.HeldMS), Bar: float64(t.HeldMS) / scale, Notes: []Text{
			say("side.elbow_down", "side", sideWord(t.Down)),
			say("side.works", "side", sideWord(t.Working)),
		},
		AtLeast: t.IsBound(),
	}
	if t.IsValue() {
		spread := math.Exp(z90 * symmetry.DefaultModel().TypicalError)
		r.Low = ptr(r.Bar / spread)
		r.High = ptr(min(r.Bar*spread, 1))
	}
	return r
}

// verdictDetail says the interval in plain words, and what would tell more.
func verdictDetail(c symmetry.Comparison) []Text {
	if c.Left == (symmetry.Count{}) || c.Right == (symmetry.Count{}) {
		return []Text{say("verdict.one_side")}
	}
	if c.Weaker == "" {
		return []Text{say("verdict.not_risk")}
	}
	args := []any{
		"side", sideWord(c.Weaker), "low", round(c.LowPercent), "high", round(c.HighPercent),
		"about", round(c.ShorterPercent),
	}
	var lines []Text
	if c.LowPercent > 0 {
		lines = append(lines, say("verdict.shorter_"+string(c.Weaker), args...))
	} else {
		args[3] = round(-c.LowPercent)
		lines = append(lines, say("verdict.either_"+string(c.Weaker), args...))
	}
	if c.Verdict == symmetry.CannotTell && c.MoreTrials > 0 {
		key := "verdict.more_trials"
		if c.MoreTrials >= symmetry.MoreTrialsCap {
			key = "verdict.many_trials"
		}
		lines = append(lines, say(key, "n", c.MoreTrials))
	}
	if c.Left.Bounds+c.Right.Bounds > 0 {
		lines = append(lines, say("verdict.bounds"))
	}
	return append(lines, say("verdict.not_risk"))
}

func round(f float64) int64 {
	if f < 0 {
		return -int64(-f + 0.5)
	}
	return int64(f + 0.5)
}

func (a *App) resultRows(d *record.Doc, tests []sessions.Test, at int) []Row {
	test := tests[at]
	rows := a.lastTime(tests, at)
	client, _ := sessions.ClientIn(d)
	rows = append(rows, sampleRows(test, client.Sex)...)
	var stops []Text
	counts := true
	for _, w := range bothSides {
		if t, found := test.Last(w); found {
			stops = append(stops, say("result.stop_"+string(w), "why", say("stop."+t.Stop)))
			counts = counts && t.IsValue()
		}
	}
	word := say("result.counts")
	if !counts {
		word = say("result.at_least")
	}
	rows = append(rows, Row{Title: say("result.stopped"), Lines: stops, Reason: word})
	if test.RestNote != "" {
		rows = append(rows, Row{
			Title: say("result.rest_short"), Lines: []Text{plain(test.RestNote)},
		})
	}
	return rows
}

// lastTime compares with the test before: a change smaller than the smallest
// detectable one is none.
func (a *App) lastTime(tests []sessions.Test, at int) []Row {
	before := -1
	for i := at - 1; i >= 0 && before < 0; i-- {
		if tests[i].Step == tests[at].Step {
			before = i
		}
	}
	if before < 0 {
		return []Row{{
			Title: say("result.first_time"), Lines: []Text{say("result.first_time_lead")},
		}}
	}
	mdc := reference.Must("noise.mdc90")
	row := Row{Title: say("result.last_time")}
	changed := false
	for _, w := range bothSides {
		now, hasNow := tests[at].Last(w)
		was, hadWas := tests[before].Last(w)
		if !hasNow || !hadWas {
			continue
		}
		diff := seconds(now.HeldMS) - seconds(was.HeldMS)
		if diff < 0 {
			row.Lines = append(row.Lines, say("result.less_"+string(w), "s", -diff))
		} else {
			row.Lines = append(row.Lines, say("result.more_"+string(w), "s", diff))
		}
		changed = changed || float64(max(diff, -diff)) > mdc.Value
	}
	row.Reason = say("result.no_change")
	if changed {
		row.Reason = say("result.change")
	}
	row.Lines = append(row.Lines, say("result.mdc", "s", strconv.FormatFloat(mdc.Value, 'f', 0, 64)))
	if before == 0 {
		row.Lines = append(row.Lines, say("result.learning"))
	}
	return []Row{row}
}

// sampleRows place the holds in a named sample; only straight-leg tests are
// like the samples.
func sampleRows(test sessions.Test, sex string) []Row {
	if test.Step != testSteps[0] {
		return nil
	}
	var rows []Row
	for _, w := range bothSides {
		trial, found := test.Last(w)
		samples := reference.Samples(reference.SideBridge, w, sex)
		if !found || len(samples) == 0 {
			continue
		}
		s := samples[0]
		hold := time.Duration(trial.HeldMS) * time.Millisecond
		p, err := s.Percentile(hold, trial.IsBound())
		if err != nil {
			continue
		}
		rows = append(rows, Row{
			Title: say("result.sample_" + string(w)),
			Lines: []Text{
				say("sample." + s.ID), say("result.sample_numbers", "mean", s.Mean.Seconds(),
					"sd", s.SD.Seconds(), "n", s.People, "status", say("status."+string(s.Source.Status))),
				say("result.skew"),
			},
			Reason: percentileWord(p, trial.IsBound()),
		})
	}
	return rows
}

func percentileWord(p reference.Percentile, isBound bool) Text {
	if isBound {
		return say("result.sample_at_least", "p", round(p.Percent))
	}
	return say("result.sample_place", "p", round(p.Percent))
}

// workingView is a number's derivation, ready to draw.
func workingView(w working.Working) WorkingView {
	v := WorkingView{Title: say(w.Key)}
	for _, in := range w.Inputs {
		line := WorkingInput{Label: say(in.Key), Value: quantity(in.Value, in.Unit)}
		if in.Note != "" {
			line.Note = say(in.Note)
		}
		v.Inputs = append(v.Inputs, line)
	}
	for _, s := range w.Steps {
		v.Steps = append(v.Steps, WorkingStep{
			Label: say(s.Key), Formula: s.Formula, Value: quantity(s.Value, s.Unit),
		})
	}
	for _, s := range w.Sources {
		where := s.Where
		if s.Year != 0 {
			where += ", " + strconv.Itoa(s.Year)
		}
		if s.DOI != "" {
			where += ", doi:" + s.DOI
		}
		v.Sources = append(v.Sources, WorkingSource{
			Title: s.Title, Where: where, Status: say("status." + string(s.Status)),
		})
	}
	for _, c := range w.Cautions {
		v.Cautions = append(v.Cautions, say(c))
	}
	if w.Level > 0 {
		v.Cautions = append(v.Cautions, say("working.interval", "low", figures(w.Low),
			"high", figures(w.High), "percent", round(w.Level*100), "unit", unitWord(w.Unit)))
	}
	return v
}

func quantity(v float64, unit string) Text {
	return say("working.value", "value", figures(v), "unit", unitWord(unit))
}

// figures keeps three significant figures: more would claim too much.
func figures(v float64) float64 {
	f, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		return 0
	}
	return f
}

func unitWord(unit string) Text {
	switch unit {
	case "", "1":
		return say("unit.none")
	case "N.m":
		return say("unit.Nm")
	case "%":
		return say("unit.percent")
	case "1/s":
		return say("unit.per_s")
	}
	return say("unit." + unit)
}
