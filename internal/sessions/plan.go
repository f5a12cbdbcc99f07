package sessions

import (
	"cmp"
	"slices"
	"sort"
	"strconv"
	"strings"

	"evenhold/internal/sides"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Plan is one prescription: what was accepted on a day.
type Plan struct {
	ID         record.ID
	Test       string
	AcceptedMS int64
	Items      []Item
}

// Item is one exercise of a plan.
type Item struct {
	ID         record.ID
	Plan       string
	Step       string
	Order      string
	Reps       []int64 // repetitions of each set, for a side
	HoldMS     int64
	RestRepMS  int64
	RestSetMS  int64
	LoadG      map[sides.Working]int64 // by working side
	DistanceMM int64
	TimeMS     int64
	First      sides.Working
	Weaker     sides.Working // the side that gets ExtraSets
	ExtraSets  int64
	Ladder     string      // version of the ladders that it was suggested by; "": not said
	Cues       string      // the practice's own words, see progression.Step.OwnCues
	Pinned     string      // fields that a fit of the dose leaves alone, with commas between
	Revision   clock.Stamp // of the latest change: a set refers to it
	SinceMS    int64       // when the item came to be of its step
	Waits      bool        // in a plan: not to be done until a clinician has looked
}

// Due returns the items of the plan that are to be done now: those that wait for a
// clinician are left out.
func (p Plan) Due() []Item {
	var due []Item
	for _, i := range p.Items {
		if !i.Waits {
			due = append(due, i)
		}
	}
	return due
}

// LaddersOf lists the versions of the ladders that items were suggested by, each once, with
// commas between.
func LaddersOf(items []Item) string {
	var all []string
	for _, i := range items {
		if i.Ladder != "" && !slices.Contains(all, i.Ladder) {
			all = append(all, i.Ladder)
		}
	}
	return strings.Join(all, ",")
}

// Values returns the plan as the fields of a new record; its items are records
// of their own.
func (p Plan) Values() []record.FieldValue {
	var f fields
	f.text("test", p.Test)
	f.count("acceptedMS", p.AcceptedMS)
	return f
}

// Values returns the item as the fields of a new record.
func (i Item) Values() []record.FieldValue {
	var f fields
	f.text("plan", i.Plan)
	f.text("step", i.Step)
	f.text("order", i.Order)
	f.text("reps", JoinReps(i.Reps))
	f.number("holdMS", i.HoldMS)
	f.number("restRepMS", i.RestRepMS)
	f.number("restSetMS", i.RestSetMS)
	f.number(FieldLoadWorksLeftG, i.LoadG[sides.WorksLeft])
	f.number(FieldLoadWorksRightG, i.LoadG[sides.WorksRight])
	f.number("distanceMM", i.DistanceMM)
	f.number("timeMS", i.TimeMS)
	f.text("first", string(i.First))
	f.text("weaker", string(i.Weaker))
	f.number("extraSets", i.ExtraSets)
	f.text(FieldLadder, i.Ladder)
	f.text(FieldCues, i.Cues)
	f.text("pinned", i.Pinned)
	return f
}

// JoinReps writes repetitions of each set as they are stored: "5,4,3".
func JoinReps(reps []int64) string {
	words := make([]string, len(reps))
	for i, n := range reps {
		words[i] = strconv.FormatInt(n, 10)
	}
	return strings.Join(words, ",")
}

// SplitReps reads what JoinReps wrote; anything that is not a number from 1 to
// 100 is left out.
func SplitReps(s string) []int64 {
	var reps []int64
	for word := range strings.SplitSeq(s, ",") {
		if n, err := strconv.ParseInt(word, 10, 64); err == nil && n >= 1 && n <= 100 {
			reps = append(reps, n)
		}
	}
	return reps
}

// CurrentPlan returns the plan accepted last, with its items in order, and
// false if there is none.
func CurrentPlan(d *record.Doc) (Plan, bool) {
	all := live(d, KindPlan)
	if len(all) == 0 {
		return Plan{}, false
	}
	r := all[len(all)-1]
	plan := Plan{ID: r.ID(), Test: text(r, "test"), AcceptedMS: number(r, "acceptedMS")}
	for _, r := range live(d, KindItem) {
		if text(r, "plan") == plan.ID.String() {
			plan.Items = append(plan.Items, itemOf(r))
		}
	}
	for _, referral := range Referrals(d) {
		for i := range plan.Items {
			isOf := referral.IsOpen() && referral.Step == plan.Items[i].Step
			plan.Items[i].Waits = plan.Items[i].Waits || isOf
		}
	}
	sort.SliceStable(plan.Items, func(i, j int) bool {
		a, b := plan.Items[i], plan.Items[j]
		return cmp.Or(cmp.Compare(a.Order, b.Order), a.ID.Compare(b.ID)) < 0
	})
	return plan, true
}

// Items returns the items of all plans of a client document.
func Items(d *record.Doc) []Item {
	var all []Item
	for _, r := range live(d, KindItem) {
		all = append(all, itemOf(r))
	}
	return all
}

// IsDoseOf reports whether the revision of item that a set was asked at is the same exercise
// at the same dose as item is now: numbers that were changed and then changed back count as
// the same.
func IsDoseOf(d *record.Doc, item Item, asked string) bool {
	if asked == item.Revision.String() {
		return true
	}
	at, err := clock.ParseStamp(asked)
	r, found := d.Record(item.ID)
	if err != nil || !found {
		return false
	}
	for _, f := range item.dose() {
		if f.Field == "pinned" {
			continue
		}
		var then record.Operation
		for _, op := range r.Register(f.Field).History() {
			if op.Stamp.Compare(at) <= 0 && op.Stamp.Compare(then.Stamp) > 0 {
				then = op
			}
		}
		if written(then.Value) != written(r.Register(f.Field).Value()) {
			return false
		}
	}
	return true
}

// The most of an item's numbers that is led: what another version or a slip
// wrote must not lead anybody into an endless hold. The screens refuse such
// values on entry; these bounds are ours, no source.
const (
	maxLoadG      = 150_000
	maxDistanceMM = 2_000_000
)

// within reads a number and holds it between 0 and most.
func within(r *record.Record, field string, most int64) int64 {
	return min(max(number(r, field), 0), most)
}

func itemOf(r *record.Record) Item {
	i := Item{
		ID: r.ID(), Plan: text(r, "plan"), Step: text(r, "step"), Order: text(r, "order"),
		Reps: SplitReps(text(r, "reps")), HoldMS: within(r, "holdMS", MaxHoldMS),
		RestRepMS: within(r, "restRepMS", MaxHoldMS), RestSetMS: within(r, "restSetMS", MaxHoldMS),
		LoadG: map[sides.Working]int64{
			sides.WorksLeft:  within(r, FieldLoadWorksLeftG, maxLoadG),
			sides.WorksRight: within(r, FieldLoadWorksRightG, maxLoadG),
		},
		DistanceMM: within(r, "distanceMM", maxDistanceMM), TimeMS: within(r, "timeMS", MaxHoldMS),
		First: sides.Working(text(r, "first")), Weaker: sides.Working(text(r, "weaker")),
		ExtraSets: number(r, "extraSets"), Pinned: text(r, "pinned"),
		SinceMS: r.Register("step").Winner().Stamp.WallMS,
		Ladder:  text(r, FieldLadder), Cues: text(r, FieldCues),
	}
	for _, register := range r.Fields() {
		if s := register.Winner().Stamp; s.Compare(i.Revision) > 0 {
			i.Revision = s
		}
	}
	return i
}
