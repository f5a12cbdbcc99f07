package loading

import (
	"math"
	"testing"
	"time"

	"evenhold/internal/sides"
)

func finite(t *testing.T, what string, values ...float64) {
	t.Helper()
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%s: %v", what, values)
		}
	}
}

// FuzzLoad: any body and setup gives finite numbers or an error.
func FuzzLoad(f *testing.F) {
	f.Add(int64(75_000), 1750, "male", "straight_leg", "left", "", int64(0), int64(0))
	f.Add(int64(20_000), 2500, "", "wall_lean", "right", "up", int64(0), int64(0))
	f.Add(int64(300_000), 800, "female", "suitcase", "right", "", int64(500_000), int64(500_000))
	f.Add(int64(math.MinInt64), -1, "x", "rack", "", "across", int64(math.MaxInt64), int64(-1))
	f.Fuzz(func(t *testing.T, massG int64, statureMM int, sex, posture, works, arm string,
		loadG, otherG int64) {
		r, err := Load(Body{massG, statureMM, sex}, Setup{Posture(posture), sides.Working(works),
			Arm(arm), loadG, otherG})
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		finite(t, "moment", r.MomentNM, r.LowNM, r.HighNM, r.LowBackY)
		if r.LowNM < 0 || r.LowNM > r.MomentNM || r.MomentNM > r.HighNM {
			t.Fatalf("interval %g %g %g", r.LowNM, r.MomentNM, r.HighNM)
		}
		for _, a := range append(r.Supports, r.Weights...) {
			finite(t, a.Name, a.X, a.Y, a.FX, a.FY)
		}
		for _, l := range r.Lines {
			finite(t, l.Part, l.X1, l.Y1, l.X2, l.Y2)
		}
		if !r.Working.IsFinite() {
			t.Fatal("the working is not finite")
		}
	})
}

// FuzzCapacity: any log gives a defined answer: finite numbers or an error.
func FuzzCapacity(f *testing.F) {
	f.Add(int64(60_000), int64(60_000), "gave_way", 8, 1, int64(0), int64(5_000), .3)
	f.Add(int64(1), int64(math.MaxInt64), "at_least", 0, 0, int64(0), int64(0), 0.0)
	f.Add(int64(-5), int64(0), "", 11, 300, int64(-1), int64(math.MinInt64), math.NaN())
	f.Add(int64(7_200_000), int64(9), "at_least", 3, 200, int64(1), int64(1e12), 1.0)
	f.Fuzz(func(t *testing.T, heldMS, secondMS int64, end string, exertion, reps int,
		restMS, atMS int64, share float64) {
		c, err := Estimate(someone, sides.WorksLeft, []Effort{
			{0, Setup{Posture: StraightLeg, Works: sides.WorksLeft},
				time.Duration(heldMS) * time.Millisecond, reps,
				time.Duration(restMS) * time.Millisecond, End(end), exertion},
			{atMS, Setup{Posture: Suitcase, Works: sides.WorksLeft, LoadG: 500_000},
				time.Duration(secondMS) * time.Millisecond, 1, 0, GaveWay, 0},
			{atMS, Setup{Posture: WallLean, Works: sides.WorksLeft},
				time.Duration(secondMS) * time.Millisecond, 0, 0, AtLeast, exertion},
		})
		if err != nil {
			t.Fatal(err)
		}
		if s, err := c.Strength(); err == nil {
			finite(t, "strength", s.LowNM, s.MedianNM, s.HighNM)
			if !s.Working.IsFinite() {
				t.Fatal("strength: the working is not finite")
			}
		}
		for _, nm := range []float64{0, 1e-300, share, 100, 1e300} {
			h, err := c.Hold(Demand{StraightLeg, nm})
			if err != nil {
				continue
			}
			finite(t, "hold", h.LowShare, h.MedianShare, h.HighShare)
			if h.Low < 0 || h.Low > h.Median || h.Median > h.High || h.High > Longest ||
				!h.Working.IsFinite() {
				t.Fatalf("hold at %g N·m: %+v", nm, h)
			}
			r, err := c.Course([]Span{{time.Duration(max(0, restMS)), Demand{BentKnee, nm}},
				{Length: time.Minute}, {time.Minute, Demand{Rack, nm}}})
			if err != nil {
				continue
			}
			for _, m := range r.Marks {
				finite(t, "mark", m.LowFatigue, m.Fatigue, m.HighFatigue)
				if m.LowReserve < 0 || m.HighReserve > Longest {
					t.Fatalf("mark %+v", m)
				}
			}
		}
		if r, err := c.CarryLoad(Overhead, share, .2, []int64{heldMS, secondMS}); err == nil {
			finite(t, "carry", r.LowShare, r.MedianShare, r.HighShare, r.Demand.MomentNM)
			if r.LoadG < 0 || r.LoadG > someone.MassG/5 || !r.Working.IsFinite() {
				t.Fatalf("carry %+v", r)
			}
		}
	})
}

func BenchmarkYear(b *testing.B) {
	var efforts []Effort
	for i := range 600 {
		e := straight(10, AtLeast)
		e.AtMS, e.Reps, e.Rest, e.Exertion = int64(i)*dayMS/2, 5, 10*time.Second, 4
		if i%20 == 0 {
			e = straight(60, GaveWay)
			e.AtMS = int64(i) * dayMS / 2
		}
		efforts = append(efforts, e)
	}
	for b.Loop() {
		if _, err := Estimate(someone, sides.WorksLeft, efforts); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCourse(b *testing.B) {
	c, _ := Estimate(someone, sides.WorksLeft, []Effort{straight(60, GaveWay)})
	var spans []Span
	for range 12 {
		spans = append(spans, Span{10 * time.Second, Demand{StraightLeg, 110}},
			Span{Length: 10 * time.Second})
	}
	for b.Loop() {
		if _, err := c.Course(spans); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		if _, err := Load(someone, Setup{Posture: BentKnee, Works: sides.WorksLeft}); err != nil {
			b.Fatal(err)
		}
	}
}
