package progression_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenhold/internal/progression"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

func stepIDs() []string {
	var ids []string
	for _, l := range progression.Ladders() {
		for _, s := range l.Steps {
			ids = append(ids, s.ID)
		}
	}
	return ids
}

// edit is an Edit in memory.
type edit struct {
	step    string
	numbers map[progression.Editable]int64
	words   map[string]string
}

func (e edit) Number(name string) (int64, bool) {
	v, said := e.numbers[progression.Editable(name)]
	return v, said
}

func (e edit) Words(name string) string { return e.words[name] }

// revise makes edits of the shipped ladders.
func revise(edits ...edit) progression.Edition {
	return progression.Revise(func(step string) progression.Edit {
		for _, e := range edits {
			if e.step == step {
				return e
			}
		}
		return nil
	})
}

func edited(step string, f progression.Editable, v int64) edit {
	return edit{step: step, numbers: map[progression.Editable]int64{f: v}}
}

func worded(step, name, words string) edit {
	return edit{step: step, words: map[string]string{name: words}}
}

// hidden is an edit that hides a step.
func hidden(step string) edit { return edited(step, progression.EditHidden, 1) }

// anyEdition is what any practice's phones may have written, honest or not.
func anyEdition(t *rapid.T) progression.Edition {
	var edits []edit
	for _, id := range rapid.SliceOfN(rapid.SampledFrom(stepIDs()), 0, 6).Draw(t, "edited") {
		e := edit{step: id, numbers: map[progression.Editable]int64{}, words: map[string]string{}}
		for _, n := range rapid.SliceOfN(rapid.SampledFrom(progression.Numbers()), 0, 5).
			Draw(t, "fields") {
			e.numbers[n.Name] = rapid.OneOf(rapid.Int64Range(-2, 20), rapid.Int64Range(0, 400_000),
				rapid.Int64()).Draw(t, "value")
		}
		if rapid.Bool().Draw(t, "hidden") {
			e.numbers[progression.EditHidden] = 1
		}
		e.words[progression.EditPlace] = rapid.SampledFrom(
			[]string{"", "A", "AV", "z", "B0", "ü", "H"}).Draw(t, "place")
		if rapid.Bool().Draw(t, "own words") {
			e.words["cue2"], e.words["cue4"] = rapid.String().Draw(t, "words"), "x"
		}
		edits = append(edits, e)
	}
	return revise(edits...)
}

// value is a number of a step in its stored unit.
func value(s progression.Step, n progression.Number) (int64, bool) {
	v, has := s.Shown(n.Name)
	if n.Unit == "s" || n.Unit == "m" {
		v *= 1000
	}
	return int64(v), has
}

// TestEditionAlways: whatever was written, every number of the ladders is within the
// bounds or as shipped, nothing that is not a practice's to change is changed, no step is
// lost, and where anyone can begin stays in sight.
func TestEditionAlways(t *testing.T) {
	changed := 0
	rapid.Check(t, func(t *rapid.T) {
		e := anyEdition(t)
		var ids []string
		for _, l := range e.Ladders() {
			for _, s := range l.Steps {
				ids = append(ids, s.ID)
				shipped, _ := progression.StepByID(s.ID)
				for _, n := range progression.Numbers() {
					now, has := value(s, n)
					then, had := value(shipped, n)
					if has != had {
						t.Fatalf("%s: has %s is now %t", s.ID, n.Name, has)
					}
					if has && now != then {
						changed++
						if err := progression.CheckEdit(&shipped, n.Name, now); err != nil {
							t.Fatalf("%s: %v", s.ID, err)
						}
					}
				}
				if s.Family != shipped.Family || s.Posture != shipped.Posture || s.Kind != shipped.Kind ||
					s.Side != shipped.Side || s.Order != shipped.Order ||
					!slices.Equal(s.Cautions, shipped.Cautions) ||
					!slices.Equal(s.Faults, shipped.Faults) || len(s.Cues) != len(shipped.Cues) ||
					s.StartPercent != shipped.StartPercent || s.MaxPercent != shipped.MaxPercent ||
					s.CanBeFirst != shipped.CanBeFirst || s.SparesShoulder != shipped.SparesShoulder {
					t.Fatalf("%s was changed in what is not a practice's: %+v", s.ID, s)
				}
				if s.Hidden && len(s.Entry) == 0 {
					t.Fatalf("%s is hidden, and anyone can begin there", s.ID)
				}
			}
		}
		slices.Sort(ids)
		want := stepIDs()
		slices.Sort(want)
		if !slices.Equal(ids, want) {
			t.Fatalf("the steps are %q", ids)
		}
	})
	if changed == 0 {
		t.Error("nothing was ever changed: the property was not put to the test")
	}
}

// TestCheckEdit writes the bounds a second time, by hand: both ends pass, what lies beyond
// does not. The gate of the straight-leg hold is 30 s, so a practice may lower it to 15 s.
func TestCheckEdit(t *testing.T) {
	tests := []struct {
		step     string
		f        progression.Editable
		min, max int64
	}{
		{"straight_leg_hold", progression.EditHold, 1_000, 10_000},
		{"straight_leg_hold", progression.EditReps, 1, 12},
		{"suitcase_carry", progression.EditSets, 1, 5},
		{"straight_leg_hold", progression.EditRestRep, 2_000, 60_000},
		{"lunge", progression.EditRestSet, 15_000, 600_000},
		{"suitcase_carry", progression.EditTime, 5_000, 120_000},
		{"straight_leg_hold", progression.EntryLegs, 15_000, 300_000},
		{"top_leg_hold", progression.EntryLegs, 38_000, 300_000},
		{"straight_leg_hold", progression.EntryKnees, 30_000, 300_000},
		{"straight_leg_hold", progression.EntryFeet, 20_000, 300_000},
		{"lunge", progression.ExitReps, 2, 20},
		{"rack_carry", progression.ExitTime, 10_000, 300_000},
		{"rack_carry", progression.ExitDistance, 10_000, 500_000},
		{"wall_lean", progression.ExitSessions, 1, 10},
		{"wall_lean", progression.ExitEffort, 3, 8},
		{"wall_lean", progression.ExitPain, 0, 2},
	}
	for _, tt := range tests {
		shipped, _ := progression.StepByID(tt.step)
		for _, v := range []int64{tt.min, tt.max} {
			if err := progression.CheckEdit(&shipped, tt.f, v); err != nil {
				t.Errorf("%s %s = %d: %v", tt.step, tt.f, v, err)
			}
			revised, _ := revise(edited(tt.step, tt.f, v)).Step(tt.step)
			for _, n := range progression.Numbers() {
				if got, _ := value(revised, n); n.Name == tt.f && got != v {
					t.Errorf("%s %s is %d after it was set to %d", tt.step, tt.f, got, v)
				}
			}
		}
		for _, v := range []int64{tt.min - 1, tt.max + 1, math.MinInt64, math.MaxInt64} {
			var out *progression.OutOfBounds
			if err := progression.CheckEdit(&shipped, tt.f, v); !errors.As(err, &out) {
				t.Errorf("%s %s = %d is let through (%v)", tt.step, tt.f, v, err)
			}
		}
	}
	hold, _ := progression.StepByID("wall_lean")
	for _, f := range []progression.Editable{progression.EditTime, progression.EntryLegs, "x"} {
		if err := progression.CheckEdit(&hold, f, 20_000); !errors.Is(err, progression.ErrLadder) {
			t.Errorf("%s of a wall lean: %v", f, err)
		}
	}
}

// TestVersion: the version names what the ladders say and not how they came to say it.
func TestVersion(t *testing.T) {
	hold := edited("wall_lean", progression.EditHold, 8_000)
	rest := edited("lunge", progression.EditRestSet, 120_000)
	shipped := progression.Edition{}.Version()
	version := func(edits ...edit) string { return revise(edits...).Version() }
	if a, b := version(hold, rest), version(rest, hold); a != b || a == shipped {
		t.Errorf("the same ladders are %q and %q, the shipped ones %q", a, b, shipped)
	}
	if version(hold) == version(rest) {
		t.Error("different ladders have one version")
	}
	same := edited("wall_lean", progression.EditHold, 10_000) // as shipped
	outside := edited("wall_lean", progression.EditHold, 11_000)
	for _, e := range []edit{same, outside, hidden("from_tomorrow"), worded("lunge", "cue9", "x")} {
		if got := version(e); got != shipped || strings.Contains(got, "-") {
			t.Errorf("%+v: the version is %q, want the shipped %q", e, got, shipped)
		}
	}
	seen := map[string]bool{shipped: true}
	for _, e := range []edit{hold, rest, worded("lunge", progression.EditPlace, "AV"),
		hidden("lunge"), worded("lunge", "cue1", "knee soft")} {
		got := version(e)
		if seen[got] || !strings.HasPrefix(got, shipped+"-") {
			t.Errorf("%+v: the version is %q, which another state has", e, got)
		}
		seen[got] = true
	}
}

// TestBeside moves a step up to the top and down to the end of its ladder, one at a time.
func TestBeside(t *testing.T) {
	const id = "rack_carry"
	e := progression.Edition{}
	at := func() int {
		return slices.IndexFunc(e.Ladders()[1].Steps, func(s progression.Step) bool {
			return s.ID == id
		})
	}
	move := func(up bool) bool {
		before, after, ok := e.Beside(id, up)
		if ok {
			place, err := record.Between(before, after)
			if err != nil {
				t.Fatal(err)
			}
			e = revise(worded(id, progression.EditPlace, place),
				worded("rack_turns", progression.EditPlace, "AV"),
				worded("rack_stairs", progression.EditPlace, "AV"))
		}
		return ok
	}
	// Two other steps share a place behind the first one; it goes past both at once.
	for _, want := range []int{4, 3, 1, 0} {
		if !move(true) || at() != want {
			t.Fatalf("moved up it stands at %d, want %d", at(), want)
		}
	}
	if move(true) {
		t.Error("the first step can be moved up")
	}
	for _, want := range []int{1, 3, 4, 5, 6, 7} {
		if !move(false) || at() != want {
			t.Fatalf("moved down it stands at %d, want %d", at(), want)
		}
	}
	if move(false) {
		t.Error("the last step can be moved down")
	}
}

// TestSuggest_Edition: a first plan begins with the practice's own dose; a step that is
// hidden or whose gate was raised above what was held gives way to the one before.
func TestSuggest_Edition(t *testing.T) {
	in := progression.Input{
		LeftHold:  progression.Hold{Tested: true, Held: 40 * time.Second},
		RightHold: progression.Hold{Tested: true, Held: 50 * time.Second},
		Posture:   progression.StraightLeg, PainNow: progression.Rated(0), MassG: 70_000,
	}
	tests := []struct {
		name  string
		edits []edit
		step  string
		holdS int
		reps  []int
	}{
		{"as shipped", nil, "straight_leg_hold", 10, []int{5, 4, 3}},
		{"own hold", []edit{edited("straight_leg_hold", progression.EditHold, 7_000)},
			"straight_leg_hold", 7, []int{5, 4, 3}},
		{"own sets and reps", []edit{{step: "straight_leg_hold",
			numbers: map[progression.Editable]int64{
				progression.EditSets: 2, progression.EditReps: 4,
			}}}, "straight_leg_hold", 10, []int{4, 3}},
		{"hidden", []edit{hidden("straight_leg_hold")}, "bent_knee_hold", 10, []int{5, 4, 3}},
		{"a higher gate", []edit{edited("straight_leg_hold", progression.EntryLegs, 45_000)},
			"bent_knee_hold", 10, []int{5, 4, 3}},
	}
	for _, tt := range tests {
		in.Edition = revise(tt.edits...)
		got := progression.Suggest(in).Items[0]
		if d := got.WorksLeft; got.StepID != tt.step || d.HoldS != tt.holdS ||
			!slices.Equal(d.Reps, tt.reps) {
			t.Errorf("%s: %s %v of %d s, want %s %v of %d s", tt.name, got.StepID, d.Reps, d.HoldS,
				tt.step, tt.reps, tt.holdS)
		}
	}
}

// TestDecide_Edition: the practice's exit gate counts, and easing never leads to what we
// hold to be harder, wherever the practice puts it.
func TestDecide_Edition(t *testing.T) {
	// After two clean sessions the shipped gate lets the step go on; with three it stays.
	e := progression.Evidence{
		Item:      item("straight_leg_hold", []int{5, 4, 3}, 0, 0),
		Sessions:  []progression.Done{clean(0), clean(2)},
		LeftHold:  progression.Hold{Tested: true, Held: 60 * time.Second},
		RightHold: progression.Hold{Tested: true, Held: 60 * time.Second},
		Posture:   progression.StraightLeg, DaysSinceTest: 5, MassG: 70_000,
	}
	if got := progression.Decide(e).Verdict; got != progression.Progress {
		t.Fatalf("as shipped it is to %s", got)
	}
	e.Edition = revise(edited("straight_leg_hold", progression.ExitSessions, 3))
	if got := progression.Decide(e).Verdict; got != progression.Stay {
		t.Errorf("with three clean sessions asked for it is to %s", got)
	}
	// The hardest hold is put before the easiest but one, and pain ends the session: the
	// smallest dose of the bent-knee hold goes back to the wall lean.
	e.Edition = revise(worded("top_leg_hold", progression.EditPlace, "AV"))
	if second := e.Edition.Ladders()[0].Steps[1].ID; second != "top_leg_hold" {
		t.Fatalf("the second step is %s", second)
	}
	e.Item = item("bent_knee_hold", []int{2, 1}, 0, 0)
	hurt := clean(4)
	hurt.StoppedByPain = true
	e.Sessions = []progression.Done{hurt}
	got := progression.Decide(e)
	if got.Verdict != progression.Ease || got.Next.StepID != "wall_lean" {
		t.Errorf("it is to %s to %+v", got.Verdict, got.Next)
	}
}

// TestOwnCues: a practice's own words go with a step and come back as they were; the
// places without keep ours.
func TestOwnCues(t *testing.T) {
	e := revise(worded("wall_lean", "cue2", "Long|line"))
	s, _ := e.Step("wall_lean")
	shipped, _ := progression.StepByID("wall_lean")
	words, isOwn := progression.OwnWords(s.Cues[1])
	if words != "Long line" || !isOwn || s.Cues[0] != shipped.Cues[0] || s.Cues[2] != shipped.Cues[2] {
		t.Errorf("the cues are %q", s.Cues)
	}
	if got := shipped.WithCues(s.OwnCues()); !slices.Equal(got.Cues, s.Cues) {
		t.Errorf("carried over they are %q", got.Cues)
	}
	if own := shipped.OwnCues(); own != "" || !slices.Equal(shipped.WithCues("").Cues, shipped.Cues) {
		t.Errorf("the shipped step has the own words %q", own)
	}
	if p := s.Place(sides.WorksRight); p.Down != sides.DownRight {
		t.Errorf("on the right side it is done %+v", p)
	}
}
