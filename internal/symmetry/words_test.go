package symmetry_test

import (
	"encoding/json"
	"os"
	"testing"
	"time"

	"evenhold/internal/symmetry"
	"evenhold/internal/working"
)

// everything is a set of answers that between them hand out every message key.
func everything() []working.Working {
	m, p := symmetry.DefaultModel(), symmetry.Position
	var all []working.Working
	for _, trials := range [][]symmetry.Trial{
		nil,
		{trial(left, 60, p, 1), trial(right, 50, p, 1)},
		{trial(left, 60, symmetry.Pain, 1), trial(right, 0, p, 1), trial("", 9, p, 1)},
	} {
		all = append(all, symmetry.Compare(trials, m).Working,
			symmetry.Compare(trials, symmetry.Model{}).Working)
	}
	a := symmetry.Retest{FirstLeft: time.Minute, SecondLeft: 70 * time.Second}
	b := symmetry.Retest{FirstRight: time.Minute, SecondRight: 50 * time.Second}
	all = append(all, symmetry.NoiseOf(nil, symmetry.Model{}).Working,
		symmetry.NoiseOf([]symmetry.Retest{a, b, a, b, {FirstLeft: 90 * time.Second,
			SecondLeft: 80 * time.Second}}, m).Working)
	all = append(all, symmetry.NoiseOf(nil, m).SetTo(20, working.Source{}).Working)
	all = append(all, symmetry.ChangeOf(timed(60, p), timed(70, symmetry.Limit), 1, m).Working,
		symmetry.ChangeOf(timed(60, p), timed(0, p), 1, symmetry.Model{}).Working)
	all = append(all, symmetry.TrendOf([]symmetry.Dated{{}}, symmetry.Model{}).Working)
	trend := symmetry.TrendOf([]symmetry.Dated{dated(0, 50, p), dated(9, 52, p),
		dated(20, 60, p)}, m)
	all = append(all, trend.Working, trend.Forecast(70*time.Second).Working,
		(symmetry.Trend{}).Forecast(time.Minute).Working)
	full := symmetry.Battery{Extensor: timed(90, p), Flexor: timed(90, p), Left: timed(60, p),
		Right: timed(60, p)}
	for _, r := range append(full.Ratios(m), symmetry.Battery{}.Ratios(symmetry.Model{})...) {
		all = append(all, r.Working, working.Working{Key: r.Key})
	}
	return all
}

// Every key that this package hands out has its English words, and no words are
// kept for a key that it does not.
func TestWords(t *testing.T) {
	text, err := os.ReadFile("words_en.json")
	if err != nil {
		t.Fatal(err)
	}
	var words map[string]string
	if err := json.Unmarshal(text, &words); err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	for _, v := range []symmetry.Verdict{symmetry.AboutEven, symmetry.LargerThanNoise,
		symmetry.CannotTell, symmetry.Longer, symmetry.Shorter, symmetry.WithinNoise,
		symmetry.InsideBand, symmetry.OutsideBand, symmetry.TooFewTests, symmetry.Reached,
		symmetry.InSight, symmetry.NotInSight} {
		used["verdict."+string(v)] = true
	}
	for _, w := range everything() {
		used[w.Key] = true
		for _, in := range w.Inputs {
			used[in.Key] = true
			if in.Note != "" {
				used[in.Note] = true
			}
		}
		for _, s := range w.Steps {
			used[s.Key] = true
		}
		for _, c := range w.Cautions {
			used[c] = true
		}
	}
	for key := range used {
		if words[key] == "" {
			t.Errorf("words_en.json lacks %q", key)
		}
	}
	for key := range words {
		if !used[key] {
			t.Errorf("words_en.json has %q, which nothing hands out", key)
		}
	}
}
