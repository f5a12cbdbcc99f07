package loading

import (
	"math"
	"testing"

	"evenhold/internal/sides"
)

// TestCarryWorkedByHand: 20 kg at stature 1.75 m, the hand half a shoulder width plus
// 0.05 m from the middle: 20·9.81·(.129·1.75 + .05) = 20·9.81·0.27575 = 54.1 N·m
// (lengths: classic textbook figure).
func TestCarryWorkedByHand(t *testing.T) {
	r, err := Load(Body{MassG: 75_000, StatureMM: 1750},
		Setup{Posture: Suitcase, Works: sides.WorksLeft, LoadG: 20_000})
	if err != nil || math.Abs(r.MomentNM-54.1) > .05 {
		t.Errorf("got %.2f N·m, %v, want 54.1", r.MomentNM, err)
	}
}

// TestCarryLoad: the weight before rounding must ask the chosen share, the guards are
// 10 and 20 % of 70 kg, and rounding is down to what is at hand.
func TestCarryLoad(t *testing.T) {
	known := mustEstimate(t, straight(30, GaveWay))
	unknown, err := Estimate(someone, sides.WorksLeft, nil)
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name       string
		c          Capacity
		share      float64
		implements []int64
		wantG      int64
		limit      Limit
	}{
		{"guard, 14 kg", known, 1, nil, 14_000, LimitGuard},
		{"guard, next lighter", known, 1, []int64{16_000, 12_000, 4_000, -5, 0}, 12_000, LimitGuard},
		{"just the guard", known, 1, []int64{14_000}, 14_000, LimitGuard},
		{"not known: 7 kg", unknown, .5, nil, 7_000, LimitStart},
		{"not known, at hand", unknown, .5, []int64{8_000, 6_000}, 6_000, LimitStart},
		{"all too heavy", known, 1, []int64{16_000, 24_000}, 0, LimitNoImplement},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, err := tt.c.CarryLoad(Suitcase, tt.share, .2, tt.implements)
			if err != nil || r.LoadG != tt.wantG || r.Limit != tt.limit {
				t.Errorf("got %d g, %s, %v; want %d g, %s", r.LoadG, r.Limit, err, tt.wantG, tt.limit)
			}
			if r.Hand.Works() != r.Works || r.Works != sides.WorksLeft {
				t.Errorf("hand %s, works %s", r.Hand, r.Works)
			}
		})
	}
	r, err := known.CarryLoad(Rack, .2, 0, nil)
	if err != nil || r.Limit != LimitShare {
		t.Fatalf("got %s, %v", r.Limit, err)
	}
	load, err := Load(someone, Setup{Posture: Rack, Works: sides.WorksLeft, LoadG: r.BeforeRoundingG})
	if err != nil {
		t.Fatal(err)
	}
	h, err := known.Hold(load.Demand)
	if err != nil || math.Abs(h.MedianShare-.2) > 1e-4 {
		t.Errorf("%d g asks a share of %.4f, want .2", r.BeforeRoundingG, h.MedianShare)
	}
	if !(r.LoadG <= r.BeforeRoundingG && r.MedianShare <= .2) {
		t.Errorf("rounded up: %+v", r)
	}
}

func TestCarryRefuses(t *testing.T) {
	c := mustEstimate(t, straight(60, GaveWay))
	if _, err := c.CarryLoad(StraightLeg, .3, .2, nil); err != ErrPosture {
		t.Errorf("hold: %v", err)
	}
	for _, share := range []float64{0, -1, 1.01, math.NaN(), math.Inf(1)} {
		if _, err := c.CarryLoad(Suitcase, share, .2, nil); err != ErrShare {
			t.Errorf("share %g: %v", share, err)
		}
	}
	if _, err := (Capacity{}).CarryLoad(Suitcase, .3, .2, nil); err == nil {
		t.Error("no body, and yet a weight")
	}
}
