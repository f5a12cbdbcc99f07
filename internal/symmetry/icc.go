package symmetry

import (
	"errors"
	"math"
)

// Errors of Agreement.
var (
	ErrScores = errors.New("scores must be a full table of at least two rows and two columns " +
		"of plain numbers: nothing was computed")
	ErrNoSpread = errors.New("the scores do not differ enough to compare rows: " +
		"an intraclass correlation is not defined")
)

// Agreement says how far columns of scores agree on rows, by analysis of
// variance, with the six intraclass correlations in the notation of
// "Intraclass correlations: uses in assessing rater reliability", Psychol Bull
// 1979;86(2):420-428, doi:10.1037/0033-2909.86.2.420.
type Agreement struct {
	BetweenRows    float64 // mean square of the rows
	BetweenColumns float64 // mean square of the columns
	Residual       float64 // mean square of what is left
	WithinRows     float64 // mean square within rows: columns and residual together

	ICC11, ICC21, ICC31 float64 // one score: one-way, two-way random, two-way fixed
	ICC1k, ICC2k, ICC3k float64 // the mean of all columns
}

// AgreementOf takes one row per person (or person and side) and one column per
// test. It returns ErrScores or ErrNoSpread.
func AgreementOf(scores [][]float64) (Agreement, error) {
	n := float64(len(scores))
	if len(scores) < 2 || len(scores[0]) < 2 {
		return Agreement{}, ErrScores
	}
	k := float64(len(scores[0]))
	rows, columns := make([]float64, len(scores)), make([]float64, len(scores[0]))
	var grand float64
	for i, row := range scores {
		if len(row) != len(columns) {
			return Agreement{}, ErrScores
		}
		for j, x := range row {
			if math.IsNaN(x) || math.Abs(x) > 1e100 {
				return Agreement{}, ErrScores
			}
			rows[i] += x / k
			columns[j] += x / n
			grand += x / (n * k)
		}
	}
	var a Agreement
	for i, row := range scores {
		a.BetweenRows += k * square(rows[i]-grand) / (n - 1)
		for j, x := range row {
			a.WithinRows += square(x-rows[i]) / (n * (k - 1))
			a.Residual += square(x-rows[i]-columns[j]+grand) / ((n - 1) * (k - 1))
		}
	}
	for _, c := range columns {
		a.BetweenColumns += n * square(c-grand) / (k - 1)
	}
	if a.BetweenRows+a.WithinRows <= 1e-24*grand*grand { // nothing but rounding
		return Agreement{}, ErrNoSpread
	}
	return a.correlate(n, k)
}

func (a Agreement) correlate(n, k float64) (Agreement, error) {
	b, w, e, j := a.BetweenRows, a.WithinRows, a.Residual, a.BetweenColumns
	below := [6]float64{
		b + (k-1)*w, b + (k-1)*e + k*(j-e)/n, b + (k-1)*e,
		b, b + (j-e)/n, b,
	}
	above := [6]float64{b - w, b - e, b - e, b - w, b - e, b - e}
	into := [6]*float64{&a.ICC11, &a.ICC21, &a.ICC31, &a.ICC1k, &a.ICC2k, &a.ICC3k}
	for i := range into {
		*into[i] = above[i] / below[i]
		if math.IsNaN(*into[i]) || math.IsInf(*into[i], 0) {
			return Agreement{}, ErrNoSpread
		}
	}
	return a, nil
}

func square(x float64) float64 { return x * x }
