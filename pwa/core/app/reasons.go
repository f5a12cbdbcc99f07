package app

import (
	"slices"
	"sort"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// reason is why a person needs a look: a sentence, and a word on the right.
type reason struct {
	line  Text
	word  Text
	care  bool
	group group
}

// group is where a person with a reason stands on the coach's list.
type group string

const (
	groupFlag   group = "flag"   // an answer of the safety questions waits
	groupAsk    group = "ask"    // pain, or an exercise that waits for a clinician
	groupDecide group = "decide" // a suggestion that nobody has answered
	groupRetest group = "retest"
	groupOther  group = "other"
)

// groups are in the order in which they are listed.
var groups = []group{groupFlag, groupAsk, groupDecide, groupRetest, groupOther}

const (
	// retestDays: retest after a week or more (common practice, no source); four
	// weeks is our own default for "due".
	retestDays = 28
	// quietDays is after how many days without a session someone is asked (ours).
	quietDays = 7
	// painStep is the change on the 0-10 scale that counts: "Responsiveness of
	// the numeric pain rating scale in patients with low back pain", Spine
	// 2005;30(11):1331-1334.
	painStep = 2
	// painCare is above what pain during work asks to stop: pain-monitoring
	// model, Am J Sports Med 2007;35(6):897-906, doi:10.1177/0363546506298279,
	// from memory; a practice setting.
	painCare = 5
)

// reasons lists why a person needs a look, what concerns safety first.
func (a *App) reasons(d *record.Doc, tests []sessions.Test) []reason {
	var all []reason
	if _, open := sessions.OpenFlag(d); open {
		all = append(all, reason{say("reason.flag"), say("reason.flag_word"), true, groupFlag})
	}
	if plan, _ := sessions.CurrentPlan(d); len(plan.Due()) < len(plan.Items) {
		n := len(plan.Items) - len(plan.Due())
		all = append(all,
			reason{say("reason.waits", "n", n), say("reason.flag_word"), true, groupAsk})
	}
	if r, found := painReason(d); found {
		all = append(all, r)
	}
	if r, found := a.decisionReason(d, tests); found {
		all = append(all, r)
	}
	if n := len(a.openConflicts(d)); n > 0 {
		all = append(all,
			reason{say("reason.conflict", "n", n), say("reason.conflict_word"), false, groupOther})
	}
	if n := len(sessions.Proposals(d)); n > 0 {
		all = append(all,
			reason{say("reason.same", "n", n), say("reason.same_word"), false, groupOther})
	}
	all = append(all, a.workReasons(d, tests)...)
	sort.SliceStable(all, func(i, j int) bool {
		return slices.Index(groups, all[i].group) < slices.Index(groups, all[j].group)
	})
	return all
}

// decisionReason is the most careful of the suggestions that nobody has answered yet, with
// what led to it. Staying as it is needs no answer; with an open red flag nothing is decided.
func (a *App) decisionReason(d *record.Doc, tests []sessions.Test) (reason, bool) {
	var open planning.Next
	found := false
	if _, flagged := sessions.OpenFlag(d); flagged {
		return reason{}, false
	}
	for _, n := range a.next(d) {
		_, isDecided := decidedOn(d, n)
		if isDecided || n.Item.Waits || n.Decision.Verdict == progression.Stay {
			continue
		}
		if !found || n.Decision.Verdict.IsMoreCareful(open.Decision.Verdict) {
			open, found = n, true
		}
	}
	if !found {
		return reason{}, false
	}
	step, _ := progression.StepByID(open.Item.Step)
	r := reason{
		line: say("reason.decide", "step", nameOf(step), "rule", ruleText(leadingRule(open.Decision))),
		word: say("decide.word_" + string(open.Decision.Verdict)), group: groupDecide,
	}
	switch open.Decision.Verdict {
	case progression.Refer:
		r.care, r.group = true, groupAsk
	case progression.Retest:
		r.group = groupRetest
		_, isDue := a.retestReason(d, tests)
		return r, !isDue // said once
	}
	return r, true
}

// painReason compares the last pain with the ones before it.
func painReason(d *record.Doc) (reason, bool) {
	var pains []int64
	for _, s := range sessions.Sessions(d) {
		if pain, said := s.LastPain(); said {
			pains = append(pains, pain)
		}
	}
	n := len(pains)
	if n == 0 {
		return reason{}, false
	}
	last := pains[n-1]
	asks := func(line Text) reason {
		return reason{line, say("reason.pain_word"), true, groupAsk}
	}
	switch {
	case last > painCare && n > 1:
		return asks(say("reason.pain_high_was", "pain", last, "was", pains[n-2])), true
	case last > painCare:
		return asks(say("reason.pain_high", "pain", last)), true
	case n > 2 && last-pains[n-3] >= painStep && last >= pains[n-2]:
		return asks(say("reason.pain_rose", "pain", last, "was", pains[n-3])), true
	}
	return reason{}, false
}

// painIsHigh reports whether the pain said last asks to stop.
func painIsHigh(d *record.Doc) bool {
	pain, said := planning.LastPain(d)
	return said && pain > painCare
}

func (a *App) workReasons(d *record.Doc, tests []sessions.Test) []reason {
	if len(sessions.Screenings(d)) == 0 {
		return []reason{{say("reason.no_screen"), say("reason.no_screen_word"), false, groupOther}}
	}
	if len(tests) == 0 {
		return []reason{{say("reason.no_test"), say("reason.no_test_word"), false, groupOther}}
	}
	last := tests[len(tests)-1]
	plan, hasPlan := sessions.CurrentPlan(d)
	if !hasPlan {
		finding := findingOf(planning.Compare(last, a.testNoise().Model))
		return []reason{{finding, "", false, groupDecide}}
	}
	var all []reason
	if r, found := a.retestReason(d, tests); found {
		all = append(all, r)
	}
	quietFrom := plan.AcceptedMS
	done := sessions.Sessions(d)
	if len(done) > 0 {
		quietFrom = max(quietFrom, done[len(done)-1].StartedMS)
	}
	if n := a.dayNumber(a.now.At.WallMS) - a.dayNumber(quietFrom); n > quietDays {
		all = append(all,
			reason{say("reason.quiet", "n", n), say("reason.quiet_word"), false, groupOther})
	}
	return all
}

// retestReason is a test that was decided on, or is due by its age.
func (a *App) retestReason(d *record.Doc, tests []sessions.Test) (reason, bool) {
	r := reason{word: say("reason.retest_word"), group: groupRetest}
	if asked, isOpen := sessions.AskedTest(d, tests); isOpen {
		r.line = say("reason.retest_asked", "on", day(asked.AtMS))
		return r, true
	}
	if len(tests) == 0 {
		return r, false
	}
	last := tests[len(tests)-1].StartedMS
	r.line = say("reason.retest", "on", day(last+retestDays*86_400_000))
	return r, a.dayNumber(a.now.At.WallMS) > a.dayNumber(last)+retestDays
}

// findingOf says what a test showed, in one sentence.
func findingOf(c symmetry.Comparison) Text {
	if c.Verdict != symmetry.LargerThanNoise {
		return say("finding." + string(c.Verdict))
	}
	return say("finding.sooner_" + string(c.Weaker))
}

var bothSides = []sides.Working{sides.WorksLeft, sides.WorksRight}
