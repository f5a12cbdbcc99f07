package reference_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"evenhold/internal/reference"
	"evenhold/internal/sides"
	"evenhold/internal/working"
)

func ExampleSample_Percentile() {
	s := reference.Samples(reference.SideBridge, sides.WorksLeft, "female")[1]
	p, err := s.Percentile(58900*time.Millisecond, false)
	fmt.Printf("%s: %.0f %% %v\n", s.ID, p.Percent, err)
	// Output: athletes-2004-women: 50 % <nil>
}

func one(t *testing.T, id string) reference.Sample {
	t.Helper()
	for _, test := range []reference.Test{
		reference.SideBridge, reference.Extensor, reference.Flexor,
	} {
		for _, sex := range []string{"male", "female"} {
			for _, s := range reference.Samples(test, "", sex) {
				if s.ID == id {
					return s
				}
			}
		}
	}
	t.Fatalf("no sample %q", id)
	return reference.Sample{}
}

// The means are remembered, but they must give back the four percentages that
// the abstract prints: side over extensor 65 % (men) and 39 % (women), flexor
// over extensor 99 % and 79 %. "Endurance times for low back stabilization
// exercises: clinical targets for testing and training from a normal database",
// Arch Phys Med Rehabil 1999;80(8):941-944, doi:10.1016/S0003-9993(99)90087-4.
func TestRememberedMeansGiveThePrintedPercentages(t *testing.T) {
	want := map[string][2]float64{"men": {65, 99}, "women": {39, 79}}
	for who, percent := range want {
		mean := func(what string) float64 {
			return one(t, "targets-1999-"+who+"-"+what).Mean.Seconds()
		}
		side := (mean("left") + mean("right")) / 2
		if got := math.Round(100 * side / mean("extensor")); got != percent[0] {
			t.Errorf("%s: side/extensor = %v %%, want %v %%", who, got, percent[0])
		}
		if got := math.Round(100 * mean("flexor") / mean("extensor")); got != percent[1] {
			t.Errorf("%s: flexor/extensor = %v %%, want %v %%", who, got, percent[1])
		}
		if s := one(t, "targets-1999-"+who+"-left").Source.Status; s != working.Memory {
			t.Errorf("%s: status %q, want memory", who, s)
		}
	}
}

func TestSamplesChoosesBySexAndSide(t *testing.T) {
	tests := []struct {
		name string
		test reference.Test
		side sides.Working
		sex  string
		want []string
	}{
		{"man, right", reference.SideBridge, sides.WorksRight, "male",
			[]string{"targets-1999-men-right", "athletes-2004-men", "adults-2014-right"}},
		{"woman, left", reference.SideBridge, sides.WorksLeft, "female",
			[]string{"targets-1999-women-left", "athletes-2004-women", "women-2003-left",
				"adults-2014-left"}},
		{"sex not given", reference.SideBridge, sides.WorksLeft, "",
			[]string{"adults-2014-left"}},
		{"hold without sides", reference.Extensor, "", "male",
			[]string{"targets-1999-men-extensor", "adults-2014-extensor"}},
		{"unknown test", "jump", "", "male", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []string
			for _, s := range reference.Samples(tt.test, tt.side, tt.sex) {
				got = append(got, s.ID)
			}
			if fmt.Sprint(got) != fmt.Sprint(tt.want) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}

// Both curves are checked against the distributions of gonum, a general-purpose
// numerics library. A log-normal with this mean and SD has
// s² = ln(1+(SD/mean)²) and m = ln(mean) - s²/2 (NIST/SEMATECH e-Handbook of
// Statistical Methods, section 1.3.6.6.9, 2012).
func TestPercentileAgainstGonum(t *testing.T) {
	for _, id := range []string{"athletes-2004-men", "women-2003-flexor", "adults-2014-left"} {
		s := one(t, id)
		mean, sd := s.Mean.Seconds(), s.SD.Seconds()
		s2 := math.Log(1 + sd*sd/(mean*mean))
		normal := distuv.Normal{Mu: mean, Sigma: sd}
		skewed := distuv.LogNormal{Mu: math.Log(mean) - s2/2, Sigma: math.Sqrt(s2)}
		for _, held := range []float64{5, 30, 60, 84.3, 120, 600} {
			p, err := s.Percentile(time.Duration(held*1000)*time.Millisecond, false)
			if err != nil {
				t.Fatal(err)
			}
			if want := 100 * normal.CDF(held); math.Abs(p.Percent-want) > 1e-9 {
				t.Errorf("%s, %v s: normal %v, want %v", id, held, p.Percent, want)
			}
			if want := 100 * skewed.CDF(held); math.Abs(p.Skewed-want) > 1e-9 {
				t.Errorf("%s, %v s: log-normal %v, want %v", id, held, p.Skewed, want)
			}
			if p.Working.Low > p.Percent || p.Working.High < p.Percent {
				t.Errorf("%s, %v s: %v outside its interval", id, held, p.Percent)
			}
		}
	}
}

// The interval must cover the true percentile of a normal population as often as
// it says: draws are from gonum's normal distribution, not from the code.
func TestPercentileIntervalCovers(t *testing.T) {
	population := distuv.Normal{Mu: 60, Sigma: 20, Src: source(20260101)}
	const rounds, people, held = 2000, 40, 80.0
	truth, covered := 100*population.CDF(held), 0
	for range rounds {
		var sum, sum2 float64
		for range people {
			x := population.Rand()
			sum, sum2 = sum+x, sum2+x*x
		}
		mean := sum / people
		sd := math.Sqrt((sum2 - people*mean*mean) / (people - 1))
		s := reference.Sample{People: people,
			Mean: time.Duration(mean * 1e9), SD: time.Duration(sd * 1e9)}
		p, err := s.Percentile(held*time.Second, false)
		if err != nil {
			t.Fatal(err)
		}
		if p.Working.Low <= truth && truth <= p.Working.High {
			covered++
		}
	}
	if share := float64(covered) / rounds; share < 0.86 || share > 0.94 {
		t.Errorf("90 %% interval covered the truth in %.1f %%", 100*share)
	}
}

func TestPercentileRefuses(t *testing.T) {
	good := one(t, "athletes-2004-men")
	own := reference.Sample{ID: "own", People: 1, Mean: time.Minute, SD: time.Second}
	flat := reference.Sample{ID: "own", People: 9, Mean: time.Minute}
	tests := []struct {
		name string
		s    reference.Sample
		hold time.Duration
		want error
	}{
		{"no hold", good, 0, reference.ErrHold},
		{"negative hold", good, -time.Second, reference.ErrHold},
		{"one person", own, time.Minute, reference.ErrSample},
		{"no spread", flat, time.Minute, reference.ErrSample},
		{"empty", reference.Sample{}, time.Minute, reference.ErrSample},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := tt.s.Percentile(tt.hold, false); !errors.Is(err, tt.want) {
				t.Errorf("error %v, want %v", err, tt.want)
			}
		})
	}
}

func TestCutShortHoldIsAtLeast(t *testing.T) {
	p, err := one(t, "athletes-2004-men").Percentile(time.Minute, true)
	if err != nil || !p.IsAtLeast || p.Working.Inputs[0].Note != "note.lower_bound" {
		t.Errorf("IsAtLeast %v, note %q, error %v", p.IsAtLeast, p.Working.Inputs[0].Note, err)
	}
}

// Every key that this package hands out has its English words.
func TestWords(t *testing.T) {
	text, err := os.ReadFile("words_en.json")
	if err != nil {
		t.Fatal(err)
	}
	var words map[string]string
	if err := json.Unmarshal(text, &words); err != nil {
		t.Fatal(err)
	}
	need := func(key string) {
		if words[key] == "" {
			t.Errorf("words_en.json lacks %q", key)
		}
	}
	for _, test := range []reference.Test{
		reference.SideBridge, reference.Extensor, reference.Flexor,
	} {
		for _, sex := range []string{"male", "female"} {
			for _, s := range reference.Samples(test, "", sex) {
				need("sample." + s.ID)
				p, err := s.Percentile(time.Minute, true)
				if err != nil {
					t.Fatal(err)
				}
				need(p.Working.Key)
				for _, in := range p.Working.Inputs {
					need(in.Key)
				}
				for _, step := range p.Working.Steps {
					need(step.Key)
				}
				for _, c := range p.Working.Cautions {
					need(c)
				}
			}
		}
	}
}

func FuzzPercentile(f *testing.F) {
	f.Add(int64(60e9), 30, int64(84e9), int64(32e9))
	f.Add(int64(math.MaxInt64), 2, int64(1), int64(1))
	f.Add(int64(1), math.MaxInt32, int64(math.MaxInt64), int64(1))
	f.Add(int64(1), 2, int64(1), int64(math.MaxInt64))
	f.Fuzz(func(t *testing.T, hold int64, people int, mean, sd int64) {
		s := reference.Sample{
			People: people, Mean: time.Duration(mean), SD: time.Duration(sd),
		}
		p, err := s.Percentile(time.Duration(hold), false)
		if err != nil {
			return
		}
		if !p.Working.IsFinite() || !(p.Percent >= 0 && p.Percent <= 100) ||
			!(p.Skewed >= 0 && p.Skewed <= 100) {
			t.Errorf("%v in %+v: %+v", hold, s, p)
		}
	})
}
