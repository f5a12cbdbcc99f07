package progression_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"evenhold/internal/progression"
	"evenhold/internal/sides"
)

// TestPlace pins the sides: on the right elbow the right side works; with the
// weight in the right hand the left side works (common practice, no source).
func TestPlace(t *testing.T) {
	for _, l := range progression.Ladders() {
		for _, s := range l.Steps {
			right, left := s.Place(sides.WorksRight), s.Place(sides.WorksLeft)
			if l.Family == progression.Holds {
				if right.Down != sides.DownRight || right.Hand != "" {
					t.Errorf("%s for the right side is done %+v, want right side down", s.ID, right)
				}
				continue
			}
			if left.Hand != sides.HandRight || left.Down != "" {
				t.Errorf("%s for the left side is done %+v, want weight in right hand", s.ID, left)
			}
		}
	}
}

// TestLadders checks what every step must have, and that a harder hold never
// asks for less in the straight-leg test than an easier one.
func TestLadders(t *testing.T) {
	want := map[progression.Family]int{
		progression.Holds: 8, progression.Carries: 8, progression.Lifts: 6,
	}
	for _, l := range progression.Ladders() {
		if len(l.Steps) != want[l.Family] {
			t.Errorf("%s has %d steps, want %d", l.Family, len(l.Steps), want[l.Family])
		}
		last := 0
		for i, s := range l.Steps {
			if s.Order != i+1 {
				t.Errorf("%s: order %d stands in place %d", s.ID, s.Order, i+1)
			}
			if !slices.Contains(s.Cautions, "caution.stop_on_pain") {
				t.Errorf("%s lacks the caution to stop on pain", s.ID)
			}
			if len(s.Faults) < 2 {
				t.Errorf("%s names %d faults, want at least 2", s.ID, len(s.Faults))
			}
			if s.InsteadOf != "" {
				if _, ok := progression.StepByID(s.InsteadOf); !ok {
					t.Errorf("%s replaces %q, which there is not", s.ID, s.InsteadOf)
				}
			}
			for _, h := range s.Entry {
				if h.Posture == progression.StraightLeg {
					if h.S < last {
						t.Errorf("%s opens at %d s, an easier step at %d s", s.ID, h.S, last)
					}
					last = h.S
				}
			}
		}
		if len(l.Steps) > 0 && len(l.Steps[0].Entry) > 0 && l.Family != progression.Lifts {
			t.Errorf("the first of the %s is not open to everyone", l.Family)
		}
	}
}

// TestStartDoses: holds of about 10 s or less in descending repetitions, 5-4-3 a side where
// a first plan may begin with them (common practice, from memory).
func TestStartDoses(t *testing.T) {
	for _, s := range progression.Ladders()[0].Steps {
		if s.CanBeFirst && (s.Start.HoldS != 10 || !slices.Equal(s.Start.Reps, []int{5, 4, 3})) {
			t.Errorf("%s starts with %v of %d s, want 5-4-3 of 10", s.ID, s.Start.Reps,
				s.Start.HoldS)
		}
	}
	for _, s := range progression.Ladders()[0].Steps {
		if s.Start.HoldS < 1 || s.Start.HoldS > 10 {
			t.Errorf("%s starts with holds of %d s, want 1 to 10", s.ID, s.Start.HoldS)
		}
		for i := 1; i < len(s.Start.Reps); i++ {
			if s.Start.Reps[i] >= s.Start.Reps[i-1] {
				t.Errorf("%s starts with %v, want it to fall", s.ID, s.Start.Reps)
			}
		}
	}
}

func TestIsOpen(t *testing.T) {
	step, ok := progression.StepByID("straight_leg_hold")
	if !ok {
		t.Fatal("no straight-leg hold")
	}
	tests := []struct {
		posture progression.Posture
		heldS   int
		want    bool
	}{
		{progression.StraightLeg, 29, false},
		{progression.StraightLeg, 30, true},
		{progression.BentKnee, 30, false},
		{progression.BentKnee, 60, true},
		{progression.Suitcase, 600, false},
	}
	for _, tt := range tests {
		if got, _ := step.IsOpen(tt.posture, tt.heldS); got != tt.want {
			t.Errorf("IsOpen(%s, %d) = %t, want %t", tt.posture, tt.heldS, got, tt.want)
		}
	}
}

func TestParseLaddersRefuses(t *testing.T) {
	const open = `{"id":"a","order":1,"version":1,"kind":"hold","side":"down","cues":["x"],
"cautions":["y"],"exit":{"sessions":2,"effortMax":6,"painMax":2},
"start":{"holdS":10,"reps":[3],"restBetweenSetsS":30}`
	const one = open + `}`
	step := func(with string) string {
		return `{"faults":{},"ladders":[{"family":"holds","version":1,"steps":[` + open + with + `}]}]}`
	}
	if _, err := progression.ParseLadders([]byte(step(""))); err != nil {
		t.Fatalf("the sound step is refused: %v", err)
	}
	tests := []struct{ name, file, says string }{
		{"not JSON", "{", "unexpected end"},
		{"a hold by the hand", step(`,"side":"hand"`), "side rule"},
		{"a hold of 11 s", step(`,"start":{"holdS":11,"reps":[3]}`), "1 to 10 s"},
		{"no sets", step(`,"start":{"holdS":5,"reps":[]}`), "no sets"},
		{"a set of none", step(`,"start":{"holdS":5,"reps":[0]}`), "0 repetitions"},
		{"a load on a hold", step(`,"maxPercent":10`), "load limits"},
		{"an unanswered fault", step(`,"faults":["z"]`), "answering cue"},
		{"an exit with pain 3", step(`,"exit":{"sessions":2,"effortMax":6,"painMax":3}`), "pain"},
		{"no caution", step(`,"cautions":[]`), "caution"},
		{"twice", strings.Replace(step(""), one, one+","+one, 1), "twice"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := progression.ParseLadders([]byte(tt.file))
			if !errors.Is(err, progression.ErrLadder) || !strings.Contains(err.Error(), tt.says) {
				t.Errorf("error %v, want it to say %q", err, tt.says)
			}
			if got != nil {
				t.Errorf("refused, yet %v came back", got)
			}
		})
	}
}

func TestDoseSets(t *testing.T) {
	d := progression.Dose{Reps: []int{5, 4, 3}, FirstSide: sides.WorksLeft, ExtraSetsWeaker: 1}
	if got := d.Sets(sides.WorksLeft); !slices.Equal(got, []int{5, 4, 3, 3}) {
		t.Errorf("the first side does %v, want 5 4 3 and one more 3", got)
	}
	if got := d.Sets(sides.WorksRight); !slices.Equal(got, []int{5, 4, 3}) {
		t.Errorf("the other side does %v, want 5 4 3", got)
	}
	if got := (progression.Dose{ExtraSetsWeaker: 3}).Sets(""); len(got) != 0 {
		t.Errorf("a dose without sets gives %v", got)
	}
}
