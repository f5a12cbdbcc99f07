package loading

import (
	"math"
	"testing"

	"evenhold/internal/reference"
)

// TestConstants: the constants of this package stand in the code, to keep the look-up out of
// it. Each must be the row of the published tables, whose sources stand there.
func TestConstants(t *testing.T) {
	s := newShape(Body{MassG: 75_000, StatureMM: 1000})
	tests := []struct {
		id  string
		got float64
	}{
		{"endurance.trunk.b0", curveFactorS}, {"endurance.trunk.b1", curveExponent},
		{"fatigue.trunk.k", fatigueRate}, {"fatigue.trunk.recovery", recoverRate},
		{"fatigue.rest_factor", restFactor},
		{"endurance.interval_high", 100 * math.Expm1(1.95996398*curveSD)},
		{"length.shoulder_height", s.shoulder}, {"length.hip_height", s.hip},
		{"length.knee_height", s.knee}, {"length.ankle_height", s.ankleHigh},
		{"length.shoulder_half_width", s.halfShoulder}, {"length.hip_width", 2 * s.halfHip},
		{"length.upper_arm", s.upperArm}, {"length.forearm", s.forearm},
		{"length.hand", s.hand}, {"length.carry_clearance", s.clearance},
	}
	for _, tt := range tests {
		if want := reference.Must(tt.id).Value; math.Abs(tt.got-want) > 1e-4 {
			t.Errorf("%s is %v here, %v in the table", tt.id, tt.got, want)
		}
	}
}

// TestSegmentRows: every row of both segment tables is the published one.
func TestSegmentRows(t *testing.T) {
	for sex, of := range map[string]table{"male": men, "female": women} {
		for name, got := range map[string]segment{
			"head": of.head, "upper_trunk": of.upper, "middle_trunk": of.middle,
			"lower_trunk": of.lower, "upper_arm": of.upperArm, "forearm": of.forearm,
			"hand": of.hand, "thigh": of.thigh, "shank": of.shank, "foot": of.foot,
		} {
			id := "segment." + sex + "." + name
			want := segment{reference.Must(id + ".mass").Value, reference.Must(id + ".centre").Value}
			if got != want {
				t.Errorf("%s is %v here, %v in the table", id, got, want)
			}
		}
	}
}
