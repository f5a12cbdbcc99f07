package loading

import (
	"math"
	"testing"
)

// TestSegmentTables: the whole body is 1.0000 for men and .9999 for women, two of
// each limb, and the trunk's parts add up to the trunk, .4346 and .4257:
// "Adjustments to Zatsiorsky-Seluyanov's segment inertia parameters", J Biomech
// 1996;29(9):1223-1230. The trunk's centre, .4486 and .4151 of its length, must follow
// from those of its parts and the lengths that are from memory, to 2 % of the trunk.
func TestSegmentTables(t *testing.T) {
	tests := []struct {
		name                   string
		t                      table
		body, trunk, trunkFrom float64
	}{{"men", men, 1.0000, .4346, .4486}, {"women", women, .9999, .4257, .4151}}
	for _, tt := range tests {
		if got := tt.t.total(); math.Abs(got-tt.body) > 5e-5 {
			t.Errorf("%s: body %.4f, want %.4f", tt.name, got, tt.body)
		}
		trunk := tt.t.upper.mass + tt.t.middle.mass + tt.t.lower.mass
		if math.Abs(trunk-tt.trunk) > 1e-4 {
			t.Errorf("%s: trunk %.4f, want %.4f", tt.name, trunk, tt.trunk)
		}
		length := tt.t.upperLen + tt.t.middleLen + tt.t.lowerLen
		centre := (tt.t.upper.mass*tt.t.upper.centre*tt.t.upperLen +
			tt.t.middle.mass*(tt.t.upperLen+tt.t.middle.centre*tt.t.middleLen) +
			tt.t.lower.mass*(tt.t.upperLen+tt.t.middleLen+tt.t.lower.centre*tt.t.lowerLen)) /
			trunk / length
		if math.Abs(centre-tt.trunkFrom) > .02 {
			t.Errorf("%s: trunk centre %.4f, want %.4f", tt.name, centre, tt.trunkFrom)
		}
	}
}
