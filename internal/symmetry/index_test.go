package symmetry_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenhold/internal/symmetry"
)

type index func(left, right time.Duration) (float64, bool)

func ExampleSymmetryIndex() {
	percent, ok := symmetry.SymmetryIndex(60*time.Second, 75*time.Second)
	fmt.Printf("%.3f %% %v\n", percent, ok)
	// Output: 22.222 % true
}

// The values are worked by hand from the formulas as their papers print them:
//
//	60, 75: (75-60)/67.5 = 22.222 %; 15/75 = 20 %; 60/75 = 0.8, arctan 0.8 =
//	38.6598°, (45-38.6598)/90 = 7.0447 %; ln 1.25 = 0.22314.
//	97, 94: -3/95.5 = -3.141 %; -3/97 = -3.093 %; 97/94 = 1.031915, arctan =
//	45.8998°, -0.8998/90 = -0.9998 %; ln(94/97) = -0.031416.
//
// Sources: J Manipulative Physiol Ther 1987;10(4):172-176; Med Sci Sports Exerc
// 2007;39(11):2044-2050; Gait Posture 2008;27(4):622-627,
// doi:10.1016/j.gaitpost.2007.08.006; J Sports Sci Med 2021;20:594.
func TestIndexWorkedValues(t *testing.T) {
	tests := []struct {
		name        string
		f           index
		left, right float64 // seconds
		want, tol   float64
	}{
		{"symmetry index", symmetry.SymmetryIndex, 60, 75, 22.222, 5e-4},
		{"bilateral asymmetry", symmetry.BilateralAsymmetry, 60, 75, 20.000, 5e-4},
		{"symmetry angle", symmetry.SymmetryAngle, 60, 75, 7.0447, 5e-5},
		{"log difference", symmetry.LogDifference, 60, 75, 22.314, 5e-4},
		{"limb symmetry", symmetry.LimbSymmetry, 60, 75, 80, 1e-9},
		{"symmetry index", symmetry.SymmetryIndex, 97, 94, -3.141, 5e-4},
		{"bilateral asymmetry", symmetry.BilateralAsymmetry, 97, 94, -3.093, 5e-4},
		{"symmetry angle", symmetry.SymmetryAngle, 97, 94, -0.9998, 5e-5},
		{"log difference", symmetry.LogDifference, 97, 94, -3.142, 5e-4},
		{"symmetry index", symmetry.SymmetryIndex, 72, 72, 0, 0},
		{"bilateral asymmetry", symmetry.BilateralAsymmetry, 72, 72, 0, 0},
		{"symmetry angle", symmetry.SymmetryAngle, 72, 72, 0, 0},
		{"log difference", symmetry.LogDifference, 72, 72, 0, 0},
		{"one side only: 45° - 0°", symmetry.SymmetryAngle, 0, 60, 50, 1e-9},
		{"one side only: 200 %", symmetry.SymmetryIndex, 0, 60, 200, 1e-9},
	}
	for _, tt := range tests {
		t.Run(fmt.Sprintf("%s %v %v", tt.name, tt.left, tt.right), func(t *testing.T) {
			left := time.Duration(tt.left * float64(time.Second))
			right := time.Duration(tt.right * float64(time.Second))
			got, ok := tt.f(left, right)
			if !ok || math.Abs(got-tt.want) > tt.tol {
				t.Errorf("got %v, %v; want %v", got, ok, tt.want)
			}
		})
	}
}

func TestIndexUndefined(t *testing.T) {
	all := []index{symmetry.SymmetryIndex, symmetry.BilateralAsymmetry, symmetry.SymmetryAngle,
		symmetry.LimbSymmetry, symmetry.LogDifference}
	for i, f := range all {
		for _, holds := range [][2]time.Duration{{0, 0}, {-1, 5}, {5, -1}} {
			if got, ok := f(holds[0], holds[1]); ok || got != 0 {
				t.Errorf("index %d of %v = %v, %v; want 0, false", i, holds, got, ok)
			}
		}
	}
	if _, ok := symmetry.LogDifference(0, time.Second); ok {
		t.Error("the log difference of an empty side is not defined")
	}
}

// Swapping the sides must flip the sign to the last bit, or, for limb symmetry,
// change nothing.
func TestIndexSwap(t *testing.T) {
	signed := []index{symmetry.SymmetryIndex, symmetry.BilateralAsymmetry,
		symmetry.SymmetryAngle, symmetry.LogDifference}
	rapid.Check(t, func(t *rapid.T) {
		a := time.Duration(rapid.Int64Range(1, int64(time.Hour)).Draw(t, "a"))
		b := time.Duration(rapid.Int64Range(1, int64(time.Hour)).Draw(t, "b"))
		for i, f := range signed {
			x, _ := f(a, b)
			y, _ := f(b, a)
			if x != -y {
				t.Fatalf("index %d: %v and, swapped, %v", i, x, y)
			}
			if (x > 0) != (b > a) && x != 0 {
				t.Fatalf("index %d: %v for left %v, right %v", i, x, a, b)
			}
		}
		x, _ := symmetry.LimbSymmetry(a, b)
		if y, _ := symmetry.LimbSymmetry(b, a); x != y || x > 100 {
			t.Fatalf("limb symmetry %v and, swapped, %v", x, y)
		}
	})
}
