package app

import (
	"math"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
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
	c := planning.Compare(test, a.testNoise().Model)
	v.Finding = findingOf(c)
	a.resultBars(&v, test)
	v.Verdict = say("verdict." + string(c.Verdict))
	v.Detail = verdictDetail(c)
	v.Working = ptr(workingView(c.Working))
	v.Sections = []Section{{Rows: a.resultRows(d, tests, at)}}
	v.Sections = append(v.Sections, a.batterySection(d, test))
	v.Sections = append(v.Sections, a.trendSections(d, tests[:at+1])...)
	v.Sections = append(v.Sections, Section{Title: say("noise.title"), Rows: a.noiseRows()})
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
		v.Left = a.sideResult(left, scale)
	}
	if hasRight {
		v.Right = a.sideResult(right, scale)
	}
}

// z90 is the normal quantile that leaves a twentieth on either side.
const z90 = 1.645

// sideResult draws a hold with the span in which it would fall again, 9 times
// in 10, by the test's own noise; a lower bound has no such span.
func (a *App) sideResult(t sessions.Trial, scale float64) *SideResult {
	r := &SideResult{
		HeldS: seconds(t.HeldMS), Bar: float64(t.HeldMS) / scale, Notes: []Text{
			say("side.elbow_down", "side", sideWord(t.Down)),
			say("side.works", "side", sideWord(t.Working)),
		},
		AtLeast: t.IsBound(),
	}
	if t.IsValue() {
		spread := math.Exp(z90 * a.testNoise().Model.TypicalError)
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
	rows := a.changeRows(tests[:at+1])
	client, _ := sessions.ClientIn(d)
	rows = append(rows, a.sideSampleRows(test, client.Sex)...)
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

// sideSampleRows place the holds of a test; only straight-leg tests are like the samples.
func (a *App) sideSampleRows(test sessions.Test, sex string) []Row {
	if test.Step != testSteps[0] {
		return nil
	}
	var rows []Row
	for _, w := range bothSides {
		if trial, found := test.Last(w); found {
			rows = append(rows, a.sampleRows(say("result.sample_"+string(w)), reference.SideBridge, w,
				sex, trial.HeldMS, trial.IsBound())...)
		}
	}
	return rows
}
