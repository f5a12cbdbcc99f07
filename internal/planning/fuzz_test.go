package planning_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// odd is a record as no screen would let it be: what other versions and merges may leave behind.
type odd struct {
	massG, statureMM, leftMS, rightMS int64
	sidesTested                       int // 0 none, 1 left, 2 right, else both
	stop                              string
	trials                            int // of each tested side
	pain, effort, loadG, reps, holdMS int64
	flagged                           bool
}

// record writes o down. A plan in force and a session of it are always there.
func (o odd) record(t interface{ Fatal(...any) }) *record.Doc {
	author := record.NewAuthor(9, 0, [32]byte{}, clock.New(9, clock.Stamp{}))
	d := record.NewDoc(author.NextID())
	add := func(kind string, values []record.FieldValue) string {
		id, _, err := author.Create(d, kind, values, dayMS)
		if err != nil {
			t.Fatal(err)
		}
		return id.String()
	}
	add(sessions.KindClient, sessions.Client{
		Name: "Odd O.", MassG: o.massG, StatureMM: o.statureMM}.Values())
	add(sessions.KindScreen, sessions.ScreenValues(
		map[string]bool{sessions.Questions()[0].ID: o.flagged}, dayMS))
	for visit := range int64(max(min(o.trials, 3), 1)) {
		at := (1 + 9*visit) * dayMS
		test := add(sessions.KindTest, sessions.Test{
			Step: "straight_leg_hold", StartedMS: at}.Values())
		for place, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
			if o.sidesTested != place+1 && o.sidesTested != 3 {
				continue
			}
			add(sessions.KindTrial, sessions.Trial{
				Test: test, Order: int64(place), Down: sides.DownFor(w), Working: w,
				HeldMS: []int64{o.leftMS, o.rightMS}[place], Stop: o.stop, StartedMS: at,
			}.Values())
		}
	}
	plan := add(sessions.KindPlan, sessions.Plan{AcceptedMS: 30 * dayMS}.Values())
	session := add(sessions.KindSession, sessions.Session{StartedMS: 31 * dayMS, Plan: plan,
		FinishedMS: 31*dayMS + 1, Effort: o.effort, Pain: o.pain, PainBefore: o.pain,
		PainMorning: -1}.Values())
	load := map[sides.Working]int64{sides.WorksLeft: o.loadG, sides.WorksRight: -o.loadG}
	for _, step := range []string{"straight_leg_hold", "suitcase_carry", "no_such_step"} {
		item := add(sessions.KindItem, sessions.Item{Plan: plan, Step: step, Order: "n",
			Reps: []int64{o.reps, 0, 3}, HoldMS: o.holdMS, TimeMS: o.holdMS, LoadG: load,
			RestSetMS: o.holdMS, First: sides.WorksLeft}.Values())
		add(sessions.KindSet, sessions.Set{Session: session, Item: item, Step: step,
			Down: sides.DownLeft, Working: sides.WorksLeft, Number: 1, Reps: o.reps,
			HoldMS: o.holdMS, HeldMS: o.leftMS, LoadG: o.loadG, Stop: o.stop,
			StartedMS: 31 * dayMS}.Values())
	}
	return d
}

// hold asks everything of an odd record: numbers are finite, what is suggested is a dose, and with
// an open red flag nothing is suggested.
func (o odd) hold(t interface {
	Fatal(...any)
	Errorf(string, ...any)
}) {
	d := o.record(t)
	first, test := planning.First(d, practice)
	next := planning.Decide(d, practice, 40*dayMS)
	if len(next) != 3 {
		t.Errorf("%d decisions for three exercises", len(next))
	}
	if o.flagged && (first.Refusal == "" || first.Ask == "" || len(first.Items) > 0) {
		t.Errorf("a plan is suggested with an open red flag: %+v", first)
	}
	isFinite(t, "the first plan", first.Items, first.Rules)
	for _, n := range next {
		if o.flagged && (n.Decision.Verdict != progression.Refer || n.Decision.Next != nil ||
			!n.Decision.AsksClinician()) {
			t.Errorf("a step is suggested with an open red flag: %+v", n.Decision)
		}
		var items []progression.Item
		if n.Decision.Next != nil {
			items = append(items, *n.Decision.Next)
		}
		isFinite(t, "a decision", items, n.Decision.Rules)
	}
	if w := planning.Compare(test, practice.Noise).Working; !w.IsFinite() {
		t.Errorf("the comparison's working: %+v", w)
	}
	p := planning.Prescribe(d, practice, first)
	for _, fit := range p.Fits {
		areFinite(t, "a fit", fit.Fatigue, fit.Hardest)
	}
	known, err := planning.Capacity(d)
	if err != nil {
		return
	}
	for _, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
		course, err := planning.Predict(known.Of(w), p.Items)
		if err != nil {
			continue
		}
		for _, point := range course.Points {
			areFinite(t, "a course", point.LowFatigue, point.Fatigue, point.HighFatigue)
		}
	}
}

func isFinite(t interface{ Errorf(string, ...any) }, what string, items []progression.Item,
	rules []progression.Fired) {
	for _, i := range items {
		rules = append(rules, i.Rules...)
		if !i.Working.IsFinite() {
			t.Errorf("the working of %s: %+v", what, i.Working)
		}
	}
	for _, r := range rules {
		for name, n := range r.Numbers {
			areFinite(t, what+" "+r.Key+" "+name, n)
		}
	}
}

func areFinite(t interface{ Errorf(string, ...any) }, what string, numbers ...float64) {
	for _, n := range numbers {
		if math.IsNaN(n) || math.IsInf(n, 0) {
			t.Errorf("%s: %v", what, n)
		}
	}
}

var stops = []string{sessions.StopPosition, sessions.StopGaveUp, sessions.StopArmShoulder,
	sessions.StopPain, sessions.StopLimit, sessions.StopTesterError, "", "unheard_of"}

// FuzzPlan: nothing tested, one side, only lower bounds, a single trial, nothing, too much: always
// a defined answer.
func FuzzPlan(f *testing.F) {
	f.Add(int64(0), int64(0), int64(0), int64(0), byte(0), byte(0), byte(1), int64(-1), int64(-1),
		int64(0), int64(0), int64(0), false)
	f.Add(int64(70_000), int64(1750), int64(60_000), int64(0), byte(1), byte(0), byte(1), int64(0),
		int64(5), int64(8_000), int64(5), int64(10_000), false)
	f.Add(int64(70_000), int64(1750), int64(120_000), int64(120_000), byte(3), byte(4), byte(3),
		int64(2), int64(9), int64(8_000), int64(5), int64(10_000), false)
	f.Add(int64(61_000), int64(1680), int64(41_000), int64(58_000), byte(3), byte(1), byte(1),
		int64(6), int64(4), int64(1), int64(1), int64(1), true)
	f.Add(int64(math.MinInt64), int64(-1), int64(math.MaxInt64), int64(math.MinInt64), byte(3),
		byte(7), byte(2), int64(math.MaxInt64), int64(math.MinInt64), int64(math.MaxInt64),
		int64(math.MaxInt64), int64(math.MinInt64), true)
	f.Fuzz(func(t *testing.T, massG, statureMM, leftMS, rightMS int64, tested, stop, trials byte,
		pain, effort, loadG, reps, holdMS int64, flagged bool) {
		odd{massG, statureMM, leftMS, rightMS, int(tested % 4), stops[int(stop)%len(stops)],
			int(trials), pain, effort, loadG, reps, holdMS, flagged}.hold(t)
	})
}

// TestFlag_AlwaysWithheld: whatever else is on record, with an open red flag there is no plan and
// no next step, only the advice to ask a clinician.
func TestFlag_AlwaysWithheld(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := func(name string, least, most int64) int64 {
			return rapid.Int64Range(least, most).Draw(t, name)
		}
		odd{n("massG", 0, 200_000), n("statureMM", 0, 2200), n("leftMS", 0, 300_000),
			n("rightMS", 0, 300_000), int(n("sides", 0, 3)),
			rapid.SampledFrom(stops).Draw(t, "stop"), int(n("trials", 1, 3)), n("pain", -1, 10),
			n("effort", -1, 10), n("loadG", 0, 40_000), n("reps", 0, 30),
			n("holdMS", 0, 60_000), true}.hold(t)
	})
}
