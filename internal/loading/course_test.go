package loading

import (
	"math"
	"testing"
	"time"

	"evenhold/internal/sides"
)

func straightDemand(t *testing.T) Demand {
	t.Helper()
	r, err := Load(someone, Setup{Posture: StraightLeg, Works: sides.WorksLeft})
	if err != nil {
		t.Fatal(err)
	}
	return r.Demand
}

func mustCourse(t *testing.T, c Capacity, spans ...Span) Course {
	t.Helper()
	r, err := c.Course(spans)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestCourseFirstHold: the reserve after the first seconds of a first hold is what the
// tested hold leaves: a 60 s hold, stopped at 20 s, has 40 s in reserve.
func TestCourseFirstHold(t *testing.T) {
	c := mustEstimate(t, straight(60, GaveWay))
	m := mustCourse(t, c, Span{20 * time.Second, straightDemand(t)}).Marks[0]
	if math.Abs(m.Reserve.Seconds()-40) > .2 {
		t.Errorf("reserve %.2f s, want 40", m.Reserve.Seconds())
	}
	if !(m.LowReserve < m.Reserve && m.Reserve < m.HighReserve) || m.Fails != FailsNo {
		t.Errorf("band %+v", m)
	}
	if past := mustCourse(t, c, Span{5 * time.Minute, straightDemand(t)}); past.Fails != FailsYes ||
		past.Marks[0].Reserve != 0 || past.Marks[0].Fatigue != 1 {
		t.Errorf("a 60 s person holds five minutes: %+v", past.Marks[0])
	}
}

// TestCourseAgainstFullModel: the expected reading of a descending 5-4-3 series of 10 s
// holds with 10 s and 60 s rests, against the full three-compartment model at the share
// that gives a 60 s hold.
func TestCourseAgainstFullModel(t *testing.T) {
	c := mustEstimate(t, straight(60, GaveWay))
	share := sustainedShare(60)
	var spans []Span
	var full [][2]float64
	for _, reps := range []int{5, 4, 3} {
		for range reps {
			spans = append(spans, Span{10 * time.Second, straightDemand(t)}, Span{Length: 10 * time.Second})
			full = append(full, [2]float64{10, share}, [2]float64{10, 0})
		}
		spans = append(spans, Span{Length: time.Minute})
		full = append(full, [2]float64{60, 0})
	}
	r := mustCourse(t, c, spans...)
	for i, m := range r.Marks {
		f, _ := threeCompartments(full[:i+1], restFactor, .005)
		if want := f / (1 - share); math.Abs(m.Fatigue-want) > .01 {
			t.Errorf("mark %d at %v: fatigue %.4f, full model %.4f", i, m.At, m.Fatigue, want)
		}
		if !(m.LowFatigue <= m.Fatigue && m.Fatigue <= m.HighFatigue &&
			m.LowReserve <= m.Reserve && m.Reserve <= m.HighReserve) {
			t.Errorf("mark %d: the band does not hold the value: %+v", i, m)
		}
	}
}

// TestCourseDirections: more rest leaves more reserve, more work less, rest restores.
func TestCourseDirections(t *testing.T) {
	c := mustEstimate(t, straight(60, GaveWay))
	work := Span{20 * time.Second, straightDemand(t)}
	rest := func(s int) Span { return Span{Length: time.Duration(s) * time.Second} }
	last := func(spans ...Span) Mark {
		r := mustCourse(t, c, spans...)
		return r.Marks[len(r.Marks)-1]
	}
	short, long := last(work, rest(10), work), last(work, rest(60), work)
	if !(short.Reserve < long.Reserve && short.Fatigue > long.Fatigue) {
		t.Errorf("10 s rest %v, 60 s rest %v", short.Reserve, long.Reserve)
	}
	if after := last(work, rest(60)); !(after.Reserve > last(work).Reserve) {
		t.Errorf("a rest left %v after %v", after.Reserve, last(work).Reserve)
	}
	if m := last(rest(60)); m.Reserve != Longest || m.Fatigue != 0 {
		t.Errorf("nothing but rest: %+v", m)
	}
}

func TestCourseRefuses(t *testing.T) {
	c := mustEstimate(t, straight(60, GaveWay))
	d := straightDemand(t)
	tests := []struct {
		name  string
		c     Capacity
		spans []Span
		want  error
	}{
		{"unknown person", Capacity{}, nil, ErrUnknown},
		{"negative length", c, []Span{{-time.Second, d}}, ErrSpan},
		{"not a number", c, []Span{{time.Second, Demand{StraightLeg, math.NaN()}}}, ErrSpan},
		{"infinite", c, []Span{{time.Second, Demand{StraightLeg, math.Inf(1)}}}, ErrSpan},
		{"posture", c, []Span{{time.Second, Demand{"handstand", 5}}}, ErrPosture},
		{"endless list", c, make([]Span, mostSpans+1), ErrSpan},
	}
	for _, tt := range tests {
		if _, err := tt.c.Course(tt.spans); err != tt.want {
			t.Errorf("%s: got %v, want %v", tt.name, err, tt.want)
		}
	}
}
