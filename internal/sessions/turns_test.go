package sessions_test

import (
	"testing"

	"evenhold/internal/cues"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

func isHold(step string) bool { return step == "straight_leg_hold" }

// TestTurnsNameBothSides goes through the turns of a hold and of a carry. A side
// bridge on the right elbow works the right side of the trunk, a weight in the
// right hand the left side: common practice, no source.
func TestTurnsNameBothSides(t *testing.T) {
	turns := sessions.Turns([]sessions.Item{
		{Step: "straight_leg_hold", Reps: []int64{5}, First: right},
		{Step: "suitcase_carry", Reps: []int64{1}, First: right,
			LoadG: map[sides.Working]int64{left: 16_000, right: 12_000}},
	}, isHold)
	want := []struct {
		working sides.Working
		down    sides.Down
		hand    sides.Hand
		loadG   int64
	}{
		{"right", "right", "", 0},
		{"left", "left", "", 0},
		{"right", "", "left", 12_000},
		{"left", "", "right", 16_000},
	}
	if len(turns) != len(want) {
		t.Fatalf("%d turns, want %d", len(turns), len(want))
	}
	for i, w := range want {
		got := turns[i]
		if got.Working != w.working || got.Down != w.down || got.Hand != w.hand ||
			got.LoadG != w.loadG || got.IsHold != (w.down != "") {
			t.Errorf("turn %d: %+v, want %+v", i, got, w)
		}
	}
}

// TestTurnsOrder lays out the descending sets of a hold, 5-4-3 a side (common
// practice, no source), with extra sets of the weaker side.
func TestTurnsOrder(t *testing.T) {
	type turn struct {
		works           sides.Working
		number, of, rep int64
	}
	tests := []struct {
		name string
		item sessions.Item
		want []turn
	}{
		{"first side, then the other, set by set", sessions.Item{Reps: []int64{5, 4, 3}, First: right},
			[]turn{{"right", 1, 3, 5}, {"left", 1, 3, 5}, {"right", 2, 3, 4}, {"left", 2, 3, 4},
				{"right", 3, 3, 3}, {"left", 3, 3, 3}}},
		{"no first side said", sessions.Item{Reps: []int64{2}},
			[]turn{{"left", 1, 1, 2}, {"right", 1, 1, 2}}},
		{"two extra sets, as long as the last", sessions.Item{Reps: []int64{5, 4}, First: right,
			Weaker: right, ExtraSets: 2},
			[]turn{{"right", 1, 4, 5}, {"left", 1, 2, 5}, {"right", 2, 4, 4}, {"left", 2, 2, 4},
				{"right", 3, 4, 4}, {"right", 4, 4, 4}}},
		{"the weaker side need not be first, nor the last set the shortest", sessions.Item{
			Reps: []int64{3, 5}, First: left, Weaker: right, ExtraSets: 1},
			[]turn{{"left", 1, 2, 3}, {"right", 1, 3, 3}, {"left", 2, 2, 5}, {"right", 2, 3, 5},
				{"right", 3, 3, 3}}},
		{"extra sets of no side", sessions.Item{Reps: []int64{1}, ExtraSets: 3},
			[]turn{{"left", 1, 1, 1}, {"right", 1, 1, 1}}},
		{"fewer than no extra sets", sessions.Item{Reps: []int64{1}, Weaker: left, ExtraSets: -1},
			[]turn{{"left", 1, 1, 1}, {"right", 1, 1, 1}}},
		{"nothing to do", sessions.Item{Weaker: left, ExtraSets: 3}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []turn
			tt.item.Step = "straight_leg_hold"
			for _, x := range sessions.Turns([]sessions.Item{tt.item}, isHold) {
				got = append(got, turn{x.Working, x.Number, x.Of, x.Reps})
			}
			if len(got) != len(tt.want) {
				t.Fatalf("turns %v\nwant  %v", got, tt.want)
			}
			for i := range got {
				if got[i] != tt.want[i] {
					t.Errorf("turn %d is %v, want %v", i, got[i], tt.want[i])
				}
			}
		})
	}
}

// TestTurnsWithoutWeight leads nobody to a weight that nobody named: a side without one has no
// turn, nor extra ones.
func TestTurnsWithoutWeight(t *testing.T) {
	item := sessions.Item{Step: "suitcase_carry", Reps: []int64{1, 1}, Weaker: left, ExtraSets: 2}
	for _, tt := range []struct {
		loads       map[sides.Working]int64
		left, right int
	}{
		{nil, 0, 0},
		{map[sides.Working]int64{left: 0, right: 0}, 0, 0},
		{map[sides.Working]int64{left: 8_000}, 4, 0},
		{map[sides.Working]int64{right: 8_000}, 0, 2},
		{map[sides.Working]int64{left: 8_000, right: 8_000}, 4, 2},
	} {
		item.LoadG = tt.loads
		got := map[sides.Working]int{}
		for _, turn := range sessions.Turns([]sessions.Item{item}, isHold) {
			got[turn.Working]++
		}
		if got[left] != tt.left || got[right] != tt.right {
			t.Errorf("with %v: %v, want %d that work left and %d right", tt.loads, got, tt.left, tt.right)
		}
	}
}

// TestTurnsAreBounded hands in a number of extra sets that no coach meant.
func TestTurnsAreBounded(t *testing.T) {
	item := sessions.Item{
		Step: "straight_leg_hold", Reps: []int64{1}, Weaker: left, ExtraSets: 1 << 62,
	}
	if n := len(sessions.Turns([]sessions.Item{item}, isHold)); n < 3 || n > 100 {
		t.Errorf("%d turns", n)
	}
}

// TestTurnsFollowTheDose compares the turns of an item with the sets of the dose
// it came from, for every step of the ladders.
func TestTurnsFollowTheDose(t *testing.T) {
	steps := 0
	for _, ladder := range progression.Ladders() {
		for _, step := range ladder.Steps {
			steps++
			dose := step.Start
			dose.FirstSide, dose.ExtraSetsWeaker = right, 1
			turns := sessions.Turns([]sessions.Item{itemOf(step, dose)},
				func(string) bool { return step.Side == progression.ByDown })
			for _, w := range []sides.Working{left, right} {
				sets, at := dose.Sets(w), 0
				for _, turn := range turns {
					if turn.Working != w {
						continue
					}
					if at >= len(sets) || turn.Reps != int64(sets[at]) ||
						turn.Of != int64(len(sets)) || turn.Number != int64(at+1) {
						t.Errorf("%s works %s: turn %d of %d with %d repetitions, dose has %v",
							step.ID, w, turn.Number, turn.Of, turn.Reps, sets)
					}
					place := step.Place(w)
					if turn.Down != place.Down || turn.Hand != place.Hand {
						t.Errorf("%s works %s: turn lies on %q, holds in %q; step says %+v",
							step.ID, w, turn.Down, turn.Hand, place)
					}
					at++
				}
				if at != len(sets) {
					t.Errorf("%s works %s: %d turns for %d sets", step.ID, w, at, len(sets))
				}
			}
		}
	}
	if steps < 10 {
		t.Errorf("only %d steps were compared", steps)
	}
}

func itemOf(step progression.Step, dose progression.Dose) sessions.Item {
	item := sessions.Item{
		Step: step.ID, HoldMS: int64(dose.HoldS) * 1000,
		RestRepMS: int64(dose.RestBetweenRepsS) * 1000, First: dose.FirstSide,
		Weaker: dose.FirstSide, ExtraSets: int64(dose.ExtraSetsWeaker),
		LoadG: map[sides.Working]int64{left: 8_000, right: 8_000},
	}
	for _, n := range dose.Reps {
		item.Reps = append(item.Reps, int64(n))
	}
	return item
}

// TestSpansAgreeWithCues compares the series that is timed with the series that
// is spoken, for every step of holds: same kinds, same lengths, same order.
func TestSpansAgreeWithCues(t *testing.T) {
	series := 0
	for _, ladder := range progression.Ladders() {
		for _, step := range ladder.Steps {
			if step.Side != progression.ByDown {
				continue
			}
			for _, restS := range []int{step.Start.RestBetweenRepsS, 0} {
				dose := step.Start
				dose.RestBetweenRepsS, dose.FirstSide = restS, right
				turns := sessions.Turns([]sessions.Item{itemOf(step, dose)},
					func(string) bool { return true })
				for _, turn := range turns {
					spoken := cues.Expand(dose, step, turn.Working, int(turn.Number))
					compareSeries(t, step.ID, turn, spoken)
					series++
				}
			}
		}
	}
	if series < 20 {
		t.Errorf("only %d series were compared", series)
	}
}

func compareSeries(t *testing.T, step string, turn sessions.Turn, spoken []cues.Interval) {
	t.Helper()
	spans := turn.Spans()
	if len(spans) != len(spoken) {
		t.Errorf("%s set %d: %d spans, %d intervals", step, turn.Number, len(spans), len(spoken))
		return
	}
	var atMS int64
	for i, s := range spans {
		lengthMS := spoken[i].Length.Milliseconds()
		if s.Kind != string(spoken[i].Kind) || s.FromMS != atMS || s.EndMS-s.FromMS != lengthMS {
			t.Errorf("%s set %d, stretch %d: timed %+v, spoken %s of %d ms from %d",
				step, turn.Number, i, s, spoken[i].Kind, lengthMS, atMS)
		}
		atMS += lengthMS
	}
	if turn.LengthMS() != atMS {
		t.Errorf("%s set %d: length %d ms, want %d", step, turn.Number, turn.LengthMS(), atMS)
	}
}

// TestDoneBy stands at each edge of two holds of ten seconds with four seconds
// between them, after five seconds to get ready: holds from 5 to 15 and 19 to 29.
func TestDoneBy(t *testing.T) {
	turn := sessions.Turn{IsHold: true, Reps: 2, HoldMS: 10_000, RestRepMS: 4_000}
	tests := []struct {
		name             string
		elapsedMS        int64
		wantReps, heldMS int64
	}{
		{"before the tap", -1, 0, 0},
		{"at the tap", 0, 0, 0},
		{"as the first hold begins", 5_000, 0, 0},
		{"a millisecond into it", 5_001, 0, 1},
		{"a millisecond before its end", 14_999, 0, 9_999},
		{"at its end", 15_000, 1, 10_000},
		{"in the rest", 17_000, 1, 10_000},
		{"as the second hold begins", 19_000, 1, 10_000},
		{"half through the second", 24_000, 1, 15_000},
		{"at the end of all", 29_000, 2, 20_000},
		{"an hour later", 3_600_000, 2, 20_000},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			reps, heldMS := turn.DoneBy(tt.elapsedMS)
			if reps != tt.wantReps || heldMS != tt.heldMS {
				t.Errorf("DoneBy(%d) = %d repetitions, %d ms; want %d, %d",
					tt.elapsedMS, reps, heldMS, tt.wantReps, tt.heldMS)
			}
		})
	}
}
