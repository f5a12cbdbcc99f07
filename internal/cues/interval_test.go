package cues_test

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhold/internal/cues"
	"evenhold/internal/progression"
	"evenhold/internal/sides"
)

// TestExpandSides pins the sides: lying on the right elbow works the right side;
// the weight in the right hand works the left (common practice, no source).
func TestExpandSides(t *testing.T) {
	hold := cues.Expand(progression.Dose{HoldS: 10, Reps: []int{1}}, step(t, "straight_leg_hold"),
		sides.WorksRight, 1)
	carry := cues.Expand(progression.Dose{TimeS: 30, Reps: []int{1}}, step(t, "rack_carry"),
		sides.WorksLeft, 1)
	for _, in := range hold {
		if in.Placement.Down != sides.DownRight || in.Placement.Works != sides.WorksRight {
			t.Errorf("a hold for the right side is placed %+v", in.Placement)
		}
	}
	for _, in := range carry {
		if in.Placement.Hand != sides.HandRight || in.Placement.Works != sides.WorksLeft {
			t.Errorf("a carry for the left side is placed %+v", in.Placement)
		}
	}
	if len(hold) != 2 || len(carry) != 2 {
		t.Errorf("%d and %d intervals, want ready and work", len(hold), len(carry))
	}
}

// TestExpandSets: 5-4-3 with an extra set for the side that goes first.
func TestExpandSets(t *testing.T) {
	d := progression.Dose{HoldS: 10, Reps: []int{5, 4, 3}, RestBetweenRepsS: 4,
		FirstSide: sides.WorksLeft, ExtraSetsWeaker: 1}
	s := step(t, "bent_knee_hold")
	for set, want := range map[int]int{0: 0, 1: 5, 2: 4, 3: 3, 4: 3, 5: 0, -1: 0} {
		series := cues.Expand(d, s, sides.WorksLeft, set)
		if want == 0 {
			if series != nil {
				t.Errorf("set %d gives %v, want none", set, series)
			}
			continue
		}
		var total time.Duration
		for _, in := range series {
			total += in.Length
		}
		// Ready 5 s, holds of 10 s, and a rest of 4 s between each two.
		if secs := 5 + 10*want + 4*(want-1); total != time.Duration(secs)*time.Second {
			t.Errorf("set %d lasts %s, want %d s", set, total, secs)
		}
		if last := series[len(series)-1]; last.Rep != want || last.Reps != want || last.Sets != 4 {
			t.Errorf("set %d ends with %+v, want repetition %d of %d", set, last, want, want)
		}
	}
	if got := cues.Expand(d, s, sides.WorksRight, 4); got != nil {
		t.Error("the other side is given the extra set too")
	}
}

func TestExpandLift(t *testing.T) {
	s := step(t, "split_squat")
	got := cues.Expand(s.Start, s, sides.WorksLeft, 1)
	if len(got) != 2 || got[1].Kind != cues.Carry || got[1].Length != 0 || got[1].Reps != 6 {
		t.Errorf("a set of six lifts is %+v, want ready and one open interval", got)
	}
}

func readWords(t *testing.T, path string) map[string]string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var words map[string]string
	if err := json.Unmarshal(data, &words); err != nil {
		t.Fatal(err)
	}
	return words
}

// TestWords: every built-in step can be led on both sides without a missing text;
// no text is left over; what is spoken fits its time at two and a half words a
// second (an ordinary speaking rate, from memory).
func TestWords(t *testing.T) {
	own := readWords(t, "words_en.json")
	technique := readWords(t, "../progression/words_en.json")
	used := map[string]bool{"cue.hold": true, "cue.carry": true} // work without a count
	var plan []cues.Cue
	for _, l := range progression.Ladders() {
		for _, s := range l.Steps {
			for _, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
				series := cues.Expand(s.Start, s, w, 1)
				series = append(series, cues.Interval{Kind: cues.Rest, Length: 20 * time.Second,
					Placement: s.Place(w.Other())})
				plan = append(plan, cues.Plan(series, 0, time.Hour, all)...)
				plan = append(plan, cues.Plan(series[len(series)-1:], 0, time.Hour, all)...)
				plan = append(plan, cues.Plan(cues.Expand(s.Start, s, w, 2), 0, time.Hour, all)...)
			}
		}
	}
	test := cues.SideHold{Down: sides.DownLeft, TellTime: true, Limit: time.Minute,
		WarnedAt: 10 * time.Second}
	plan = append(plan, test.Plan(0, time.Hour, all)...)
	for _, c := range plan {
		if c.Key == "" {
			continue
		}
		used[c.Key] = true
		text := own[c.Key] + technique[c.Key]
		if text == "" {
			t.Fatalf("no text for %q", c.Key)
		}
		for name, v := range c.Args {
			text = strings.ReplaceAll(text, "{"+name+"}", fmt.Sprint(v))
		}
		if strings.Contains(text, "{") {
			t.Errorf("%s: %q lacks a number", c.Key, text)
		}
		room := 2.0
		if strings.HasPrefix(c.Key, "cue.side.") || strings.HasPrefix(c.Key, "cue.next.") {
			room = 3
		}
		if n := len(strings.Fields(text)); c.Channel == cues.Say && float64(n)/2.5 > room {
			t.Errorf("%s: %d words in %g s", c.Key, n, room)
		}
	}
	for k := range own {
		if !used[k] {
			t.Errorf("%q has a text and is never given out", k)
		}
		if technique[k] != "" {
			t.Errorf("%q has two texts", k)
		}
	}
	if !slices.ContainsFunc(plan, func(c cues.Cue) bool { return c.Key == "cue.halfway" }) {
		t.Error("no step has a halfway")
	}
}

// TestWordsOfSides: hand or down side and working side are always said together.
func TestWordsOfSides(t *testing.T) {
	own := readWords(t, "words_en.json")
	for _, k := range []string{"down_left", "down_right", "hand_left", "hand_right"} {
		works := map[string]string{"down_left": "works left", "down_right": "works right",
			"hand_left": "works right", "hand_right": "works left"}[k]
		place := map[string]string{"down_left": "left side down", "down_right": "right side down",
			"hand_left": "weight left hand", "hand_right": "weight right hand"}[k]
		for _, prefix := range []string{"cue.side.", "cue.next."} {
			text := strings.ToLower(own[prefix+k])
			if !strings.Contains(text, works) || !strings.Contains(text, place) {
				t.Errorf("%s%s: %q, want %q and %q", prefix, k, text, place, works)
			}
		}
	}
}
