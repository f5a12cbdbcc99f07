package working_test

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"evenhold/internal/working"
)

func Example() {
	step := working.Step{Key: "step.log", Formula: "ln(R/L)", Value: 0.25, Unit: "1"}
	text, err := json.Marshal(step)
	fmt.Println(string(text), err)
	// Output: {"key":"step.log","formula":"ln(R/L)","value":0.25,"unit":"1"} <nil>
}

// JSON has no way to write NaN or infinity (RFC 8259, section 6, 2017), so
// IsFinite must agree with whether the standard encoder accepts the value.
func TestIsFiniteAgreesWithJSON(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(-1)
	tests := []struct {
		name string
		w    working.Working
		want bool
	}{
		{"plain", working.Working{Low: -1, High: 2, Level: 0.9}, true},
		{"bound", working.Working{High: inf}, false},
		{"input", working.Working{Inputs: []working.Input{{Value: nan}}}, false},
		{"step", working.Working{Steps: []working.Step{{Value: 1}, {Value: nan}}}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := json.Marshal(tt.w)
			if (err == nil) != tt.want || tt.w.IsFinite() != tt.want {
				t.Errorf("IsFinite = %v, encoder error %v, want finite %v",
					tt.w.IsFinite(), err, tt.want)
			}
		})
	}
}
