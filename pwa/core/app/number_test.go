package app

import "testing"

// TestParseScaled reads numbers as people type them, and nothing else that a program
// would take for one. Worked by hand.
func TestParseScaled(t *testing.T) {
	for typed, want := range map[string]int64{
		"12": 12_000, " 7,5 ": 7_500, "7.5": 7_500, "٧٫٥": 7_500, "۱۲": 12_000, "-3": -3_000,
	} {
		if got, err := parseScaled(typed, 1000); err != nil || got != want {
			t.Errorf("%q is read as %d, %v, want %d", typed, got, err, want)
		}
	}
	for _, typed := range []string{"1e2", "0x10", "1_000", "inf", "NaN", "", ".", "1 2", "1,2,3"} {
		if got, err := parseScaled(typed, 1000); err == nil {
			t.Errorf("%q is read as %d", typed, got)
		}
	}
}
