package cues_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhold/internal/cues"
	"evenhold/internal/progression"
	"evenhold/internal/sides"

	"pgregory.net/rapid"
)

var all = cues.Options{Beep: true, Buzz: true, Flash: true, Voice: true}

func step(t *testing.T, id string) progression.Step {
	t.Helper()
	s, ok := progression.StepByID(id)
	if !ok {
		t.Fatalf("no step %q", id)
	}
	return s
}

// lines writes cues of the wanted channels as "second channel what".
func lines(plan []cues.Cue, wanted ...cues.Channel) []string {
	var out []string
	for _, c := range plan {
		if slices.Contains(wanted, c.Channel) {
			out = append(out, fmt.Sprintf("%g %s %s%s", float64(c.AtMS)/1000, c.Channel, c.Tone, c.Key))
		}
	}
	return out
}

func same(t *testing.T, got []string, want string) {
	t.Helper()
	w := strings.Split(strings.TrimSpace(want), "\n")
	if !slices.Equal(got, w) {
		t.Errorf("cues\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(w, "\n"))
	}
}

// TestPlanHolds writes out by hand two holds of 10 s with 4 s of rest on the right
// elbow: ready from 0, holds from 5 to 15 and from 19 to 29.
func TestPlanHolds(t *testing.T) {
	s := step(t, "bent_knee_hold")
	d := progression.Dose{HoldS: 10, Reps: []int{2}, RestBetweenRepsS: 4}
	plan := cues.Plan(cues.Expand(d, s, sides.WorksRight, 1), 0, time.Minute, all)
	same(t, lines(plan, cues.Beep, cues.Say), `
0 say cue.side.down_right
2 beep tick
3 beep tick
4 beep tick
5 beep start
8 say cue.hips_up
12 beep tick
13 beep tick
14 beep tick
15 beep end
15 say cue.rest
16 beep tick
17 beep tick
18 beep tick
19 beep start
22 say cue.stack_shoulders
26 beep tick
27 beep tick
28 beep tick
29 beep end
29 say cue.set_done`)
	same(t, lines(plan, cues.Buzz, cues.Flash, cues.Show), `
0 show cue.side.down_right
5 buzz start
5 flash start
5 show cue.hold.count
8 show cue.hips_up
15 buzz end
15 flash end
15 show cue.rest
19 buzz start
19 flash start
19 show cue.hold.count
22 show cue.stack_shoulders
29 buzz end
29 flash end
29 show cue.set_done`)
}

// TestPlanShortHolds: 3 s leave no room for words, so the technique comes in every
// second rest: the second of the step's three cues before repetition 2, and the
// first again before repetition 4.
func TestPlanShortHolds(t *testing.T) {
	s := step(t, "bent_knee_hip_raise")
	d := progression.Dose{HoldS: 3, Reps: []int{4}, RestBetweenRepsS: 3}
	plan := cues.Plan(cues.Expand(d, s, sides.WorksLeft, 1), 0, time.Minute, all)
	same(t, lines(plan, cues.Say), `
0 say cue.side.down_left
8 say cue.hips_up
20 say cue.slow_and_smooth
26 say cue.set_done`)
}

// TestPlanCarry: 30 s with the weight in the right hand. Halfway, at 15 s of the
// carry, wins over the technique that would fall on it.
func TestPlanCarry(t *testing.T) {
	s := step(t, "suitcase_carry")
	d := progression.Dose{TimeS: 30, Reps: []int{1}}
	plan := cues.Plan(cues.Expand(d, s, sides.WorksLeft, 1), 0, time.Minute, all)
	same(t, lines(plan, cues.Say, cues.Buzz), `
0 say cue.side.hand_right
5 buzz start
8 say cue.stand_tall
20 buzz half
20 say cue.halfway
35 buzz end
35 say cue.set_done`)
}

// TestPlanSides: the change of sides and a long rest name the side to come, by
// placement and by working side.
func TestPlanSides(t *testing.T) {
	left := progression.Placement{Down: sides.DownLeft, Works: sides.WorksLeft}
	right := progression.Placement{Hand: sides.HandRight, Works: sides.WorksLeft}
	series := []cues.Interval{
		{Kind: cues.Hold, Length: 5 * time.Second, Placement: left},
		{Kind: cues.Switch, Length: 4 * time.Second},
		{Kind: cues.Hold, Length: 5 * time.Second, Placement: right},
		{Kind: cues.Rest, Length: 30 * time.Second, Placement: left},
	}
	same(t, lines(cues.Plan(series, 0, time.Minute, all), cues.Say), `
0 say cue.side.down_left
5 say cue.next.hand_right
14 say cue.rest
39 say cue.next.down_left`)
}

// TestFlashes: holds of 310 ms would flash four times in 930 ms; WCAG 2.2, success
// criterion 2.3.1, allows three in any second.
func TestFlashes(t *testing.T) {
	series := slices.Repeat([]cues.Interval{{Kind: cues.Hold, Length: 310 * time.Millisecond}}, 20)
	var flashMS []int64
	for _, c := range cues.Plan(series, 0, time.Minute, all) {
		if c.Channel == cues.Flash {
			flashMS = append(flashMS, c.AtMS)
		}
	}
	if len(flashMS) < 4 {
		t.Fatalf("%d flashes in 6 s, want some", len(flashMS))
	}
	for i := 3; i < len(flashMS); i++ {
		if flashMS[i]-flashMS[i-3] <= 1000 {
			t.Errorf("four flashes from %d to %d ms", flashMS[i-3], flashMS[i])
		}
	}
}

func TestPlanOpenCarry(t *testing.T) {
	s := step(t, "suitcase_carry")
	d := progression.Dose{DistanceM: 40, Reps: []int{1}}
	series := cues.Expand(d, s, sides.WorksRight, 1)
	series = append(series, cues.Interval{Kind: cues.Hold, Length: time.Minute})
	same(t, lines(cues.Plan(series, 0, time.Hour, all), cues.Say, cues.Flash), `
0 say cue.side.hand_left
5 flash start
8 say cue.stand_tall`)
}

// TestOptions: channels that are not wanted are silent, the screen never is.
func TestOptions(t *testing.T) {
	series := []cues.Interval{{Kind: cues.Hold, Length: 30 * time.Second,
		Placement: progression.Placement{Down: sides.DownLeft, Works: sides.WorksLeft}}}
	for channel, o := range map[cues.Channel]cues.Options{
		cues.Beep: {Beep: true}, cues.Buzz: {Buzz: true}, cues.Flash: {Flash: true},
		cues.Say: {Voice: true}, cues.Show: {},
	} {
		seen := map[cues.Channel]bool{}
		for _, c := range cues.Plan(series, 0, time.Minute, o) {
			seen[c.Channel] = true
		}
		want := map[cues.Channel]bool{cues.Show: true, channel: true}
		if !reflect.DeepEqual(seen, want) {
			t.Errorf("with %+v the channels are %v, want %v", o, seen, want)
		}
	}
}

func anySeries(t *rapid.T, least, most time.Duration) []cues.Interval {
	placements := []progression.Placement{
		{Down: sides.DownLeft, Works: sides.WorksLeft},
		{Down: sides.DownRight, Works: sides.WorksRight},
		{Hand: sides.HandLeft, Works: sides.WorksRight},
		{Hand: sides.HandRight, Works: sides.WorksLeft},
	}
	interval := rapid.Custom(func(t *rapid.T) cues.Interval {
		in := cues.Interval{
			Kind: rapid.SampledFrom([]cues.Kind{cues.Ready, cues.Hold, cues.Rest, cues.Switch,
				cues.Carry}).Draw(t, "kind"),
			Length:     time.Duration(rapid.Int64Range(int64(least), int64(most)).Draw(t, "length")),
			Rep:        rapid.IntRange(-1, 6).Draw(t, "rep"),
			Techniques: []string{"cue.hips_up", "cue.one_line"}[:rapid.IntRange(0, 2).Draw(t, "n")],
		}
		if in.Kind == cues.Hold || in.Kind == cues.Carry {
			in.Placement = rapid.SampledFrom(placements).Draw(t, "placement")
		}
		return in
	})
	return rapid.SliceOfN(interval, 0, 12).Draw(t, "series")
}

// TestPlanAlways holds for any series, absurd ones included: cues are in order;
// sayings are at least 2 s apart, and 3 s after one that names a side; no second
// has more than three flashes (WCAG 2.2, success criterion 2.3.1); windows fit
// together, and a later window has nothing from before it.
func TestPlanAlways(t *testing.T) {
	sayings, flashes := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		most := rapid.SampledFrom([]time.Duration{500 * time.Millisecond, 10 * time.Second,
			time.Minute, 1 << 62}).Draw(t, "most")
		series := anySeries(t, -time.Second, most)
		const day = 24 * time.Hour
		plan := cues.Plan(series, 0, day, all)
		saidMS, roomMS := int64(-1<<40), int64(0)
		var flashMS []int64
		for i, c := range plan {
			if i > 0 && c.AtMS < plan[i-1].AtMS {
				t.Fatalf("cue %d at %d ms comes after one at %d ms", i, c.AtMS, plan[i-1].AtMS)
			}
			switch c.Channel {
			case cues.Say:
				if c.AtMS-saidMS < max(2000, roomMS) {
					t.Fatalf("%s at %d ms, the last saying at %d ms", c.Key, c.AtMS, saidMS)
				}
				saidMS, roomMS = c.AtMS, 2000
				if strings.HasPrefix(c.Key, "cue.side.") || strings.HasPrefix(c.Key, "cue.next.") {
					roomMS = 3000
				}
				sayings++
			case cues.Flash:
				flashMS = append(flashMS, c.AtMS)
				if n := len(flashMS); n >= 4 && flashMS[n-1]-flashMS[n-4] <= 1000 {
					t.Fatalf("four flashes within %d ms", flashMS[n-1]-flashMS[n-4])
				}
				flashes++
			}
		}
		cut := time.Duration(rapid.Int64Range(0, int64(time.Minute)).Draw(t, "cut")).
			Truncate(time.Millisecond)
		joined := append(cues.Plan(series, 0, cut, all), cues.Plan(series, cut, day, all)...)
		if len(joined)+len(plan) > 0 && !reflect.DeepEqual(joined, plan) {
			t.Fatalf("cut at %s the windows give %d cues, in one piece %d", cut, len(joined), len(plan))
		}
	})
	if sayings == 0 || flashes == 0 {
		t.Error("nothing was said or flashed: the property was not put to the test")
	}
}

// TestPlanNamesSides: where intervals last long enough to speak (3 s), the last
// side named before or as work begins is the side that works.
func TestPlanNamesSides(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		series := anySeries(t, 3*time.Second, 40*time.Second)
		plan := cues.Plan(series, 0, time.Hour, all)
		var at time.Duration
		for i, in := range series {
			if in.Kind == cues.Hold || in.Kind == cues.Carry {
				named := ""
				for _, c := range plan {
					if c.AtMS > at.Milliseconds() {
						break
					}
					for _, prefix := range []string{"cue.side.", "cue.next."} {
						if rest, ok := strings.CutPrefix(c.Key, prefix); ok && c.Channel == cues.Say {
							named = rest
						}
					}
				}
				if named != in.Placement.Key() {
					t.Fatalf("interval %d works %s, last named %q", i, in.Placement.Key(), named)
				}
			}
			at += in.Length
		}
	})
}
