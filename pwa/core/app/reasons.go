package app

import (
	"evenhold/internal/planning"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// reason is why a person needs a look: a sentence, and a word on the right.
type reason struct {
	line Text
	word Text
	care bool
}

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
		all = append(all, reason{say("reason.flag"), say("reason.flag_word"), true})
	}
	if plan, _ := sessions.CurrentPlan(d); len(plan.Due()) < len(plan.Items) {
		n := len(plan.Items) - len(plan.Due())
		all = append(all, reason{say("reason.waits", "n", n), say("reason.flag_word"), true})
	}
	if r, found := painReason(d); found {
		all = append(all, r)
	}
	if n := len(a.openConflicts(d)); n > 0 {
		all = append(all, reason{say("reason.conflict", "n", n), say("reason.conflict_word"), false})
	}
	if n := len(sessions.Proposals(d)); n > 0 {
		all = append(all, reason{say("reason.same", "n", n), say("reason.same_word"), false})
	}
	return append(all, a.workReasons(d, tests)...)
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
	word := say("reason.pain_word")
	switch {
	case last > painCare && n > 1:
		return reason{say("reason.pain_high_was", "pain", last, "was", pains[n-2]), word, true}, true
	case last > painCare:
		return reason{say("reason.pain_high", "pain", last), word, true}, true
	case n > 2 && last-pains[n-3] >= painStep && last >= pains[n-2]:
		return reason{say("reason.pain_rose", "pain", last, "was", pains[n-3]), word, true}, true
	}
	return reason{}, false
}

// painIsHigh reports whether the pain said last asks to stop.
func painIsHigh(d *record.Doc) bool {
	pain, said := planning.LastPain(d)
	return said && pain > painCare
}

func (a *App) workReasons(d *record.Doc, tests []sessions.Test) []reason {
	today := a.dayNumber(a.now.At.WallMS)
	if len(sessions.Screenings(d)) == 0 {
		return []reason{{say("reason.no_screen"), say("reason.no_screen_word"), false}}
	}
	if len(tests) == 0 {
		return []reason{{say("reason.no_test"), say("reason.no_test_word"), false}}
	}
	last := tests[len(tests)-1]
	plan, hasPlan := sessions.CurrentPlan(d)
	if !hasPlan {
		return []reason{{findingOf(planning.Compare(last, a.testNoise().Model)), "", false}}
	}
	var all []reason
	if asked, isOpen := sessions.AskedTest(d, tests); isOpen {
		all = append(all, reason{
			say("reason.retest_asked", "on", day(asked.AtMS)), say("reason.retest_word"), false,
		})
	} else if due := a.dayNumber(last.StartedMS) + retestDays; today > due {
		all = append(all, reason{
			say("reason.retest", "on", day(last.StartedMS+retestDays*86_400_000)),
			say("reason.retest_word"), false,
		})
	}
	quietFrom := plan.AcceptedMS
	done := sessions.Sessions(d)
	if len(done) > 0 {
		quietFrom = max(quietFrom, done[len(done)-1].StartedMS)
	}
	if n := today - a.dayNumber(quietFrom); n > quietDays {
		all = append(all, reason{say("reason.quiet", "n", n), say("reason.quiet_word"), false})
	}
	return all
}

// findingOf says what a test showed, in one sentence.
func findingOf(c symmetry.Comparison) Text {
	if c.Verdict != symmetry.LargerThanNoise {
		return say("finding." + string(c.Verdict))
	}
	return say("finding.sooner_" + string(c.Weaker))
}

var bothSides = []sides.Working{sides.WorksLeft, sides.WorksRight}
