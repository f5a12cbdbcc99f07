package symmetry_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"

	"evenhold/internal/symmetry"
)

// judged is the worked example of six targets and four judges in "Intraclass
// correlations: uses in assessing rater reliability", Psychol Bull
// 1979;86(2):420-428, doi:10.1037/0033-2909.86.2.420, table 2.
var judged = [][]float64{
	{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7},
}

func ExampleAgreementOf() {
	a, err := symmetry.AgreementOf(judged)
	fmt.Printf("%.2f %.2f %.2f %v\n", a.ICC11, a.ICC21, a.ICC31, err)
	// Output: 0.17 0.29 0.71 <nil>
}

// The mean squares and correlations to two digits are those printed in the paper
// above (from memory); the further digits are what R 4.2, a general-purpose
// statistics package, gives for the same table (anova of a two-way linear model,
// and the function ICC of its library psych).
func TestAgreementWorkedExample(t *testing.T) {
	a, err := symmetry.AgreementOf(judged)
	if err != nil {
		t.Fatal(err)
	}
	for name, pair := range map[string][2]float64{
		"mean square of targets":  {a.BetweenRows, 11.24166667},
		"mean square of judges":   {a.BetweenColumns, 32.48611111},
		"residual mean square":    {a.Residual, 1.01944444},
		"mean square within rows": {a.WithinRows, (97.45833333 + 15.29166667) / 18},
		"ICC(1,1)":                {a.ICC11, 0.16574177},
		"ICC(2,1)":                {a.ICC21, 0.28976378},
		"ICC(3,1)":                {a.ICC31, 0.71484071},
		"ICC(1,k)":                {a.ICC1k, 0.44279713},
		"ICC(2,k)":                {a.ICC2k, 0.62005055},
		"ICC(3,k)":                {a.ICC3k, 0.90931554},
	} {
		if math.Abs(pair[0]-pair[1]) > 1e-8 {
			t.Errorf("%s = %.9f, want %.9f", name, pair[0], pair[1])
		}
	}
}

// For two columns ICC(3,1) is twice the covariance over the sum of the
// variances; gonum, a general-purpose numerics library, gives those.
func TestAgreementOfTwoTestsAgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(20260306, 0))
	var scores [][]float64
	var first, second []float64
	for range 30 {
		level := 4 + 0.4*rng.NormFloat64()
		x, y := level+0.2*rng.NormFloat64(), level+0.1+0.2*rng.NormFloat64()
		scores = append(scores, []float64{x, y})
		first, second = append(first, x), append(second, y)
	}
	a, err := symmetry.AgreementOf(scores)
	if err != nil {
		t.Fatal(err)
	}
	want := 2 * stat.Covariance(first, second, nil) /
		(stat.Variance(first, nil) + stat.Variance(second, nil))
	if math.Abs(a.ICC31-want) > 1e-12 {
		t.Errorf("ICC(3,1) = %v, want %v", a.ICC31, want)
	}
}

func TestAgreementRefuses(t *testing.T) {
	tests := []struct {
		name   string
		scores [][]float64
		want   error
	}{
		{"nothing", nil, symmetry.ErrScores},
		{"one row", [][]float64{{1, 2}}, symmetry.ErrScores},
		{"one column", [][]float64{{1}, {2}}, symmetry.ErrScores},
		{"ragged", [][]float64{{1, 2}, {3}}, symmetry.ErrScores},
		{"not a number", [][]float64{{1, math.NaN()}, {3, 4}}, symmetry.ErrScores},
		{"infinite", [][]float64{{1, math.Inf(1)}, {3, 4}}, symmetry.ErrScores},
		{"all alike", [][]float64{{5, 5}, {5, 5}}, symmetry.ErrNoSpread},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := symmetry.AgreementOf(tt.scores); !errors.Is(err, tt.want) {
				t.Errorf("error %v, want %v", err, tt.want)
			}
		})
	}
}
