package main

import (
	"math"
	"testing"
)

// Worked by hand: twice the length at four times the cost is a power of two; a cost in proportion
// is a power of one.
func TestSlope_IsThePower(t *testing.T) {
	x := []int64{1, 2, 4, 8}
	for want, y := range map[float64][]float64{
		2: {3, 12, 48, 192}, 1: {5, 10, 20, 40}, 0: {7, 7, 7, 7},
	} {
		if got := slope(x, y); math.Abs(got-want) > 1e-12 {
			t.Errorf("%v: power %v, want %v", y, got, want)
		}
	}
}
