package symmetry

import (
	"math"
	"time"

	"evenhold/internal/reference"
	"evenhold/internal/working"
)

// Model is what is believed before a person's trials are looked at. The log of
// a hold is the true log endurance of that side, plus what the visit did to both
// sides alike, plus the error of the trial. All SDs are of natural logarithms:
// 0.16 is about 17 %. A practice may edit every field.
type Model struct {
	TypicalError float64 // SD of one test of one side between days, visit and trial together
	TrialSD      float64 // SD of the error of one trial
	TrialSDLogSD float64 // how unsure TrialSD is: SD of its logarithm; 0: taken as exact
	VisitSD      float64 // SD of what a visit does to both sides: form of the day, training
	SideSD       float64 // SD over people of the true log difference of the sides
	Level        time.Duration
	LevelSD      float64 // SD over people of the log endurance around Level
	Sources      []working.Source
}

// DefaultModel returns the model that the published test noise supports. All of
// the published typical error (12.1 to 24.1 % on the log scale, PLoS One
// 2025;20(6):e0324787, seen) is put down to the trial, although part of it is
// shared by both sides: that makes the sides harder to tell apart, never easier.
// Reading that range as a 90 % interval around its middle on the log scale, and
// the three other SDs, are our own estimates. Level is near the published means.
func DefaultModel() Model {
	low := reference.Must("noise.typical_error_low")
	high := reference.Must("noise.typical_error_high")
	a, b := math.Log1p(low.Value/100), math.Log1p(high.Value/100)
	return Model{
		TypicalError: math.Sqrt(a * b),
		TrialSD:      math.Sqrt(a * b),
		TrialSDLogSD: math.Log(b/a) / (2 * z90),
		VisitSD:      0.20,
		SideSD:       0.35,
		Level:        65 * time.Second,
		LevelSD:      0.70,
		Sources:      []working.Source{low.Source, reference.SourceOf("ours")},
	}
}

// orDefault returns m, or DefaultModel and false if a field of m is no number or
// outside the range in which the answers mean anything.
func (m Model) orDefault() (Model, bool) {
	within := func(v, low, high float64) bool { return v >= low && v <= high }
	if within(m.TypicalError, 0.01, 1) && within(m.TrialSD, 0.01, 1) &&
		within(m.TrialSDLogSD, 0, 1) && within(m.VisitSD, 0, 2) &&
		within(m.SideSD, 0.01, 2) && within(m.LevelSD, 0.05, 3) &&
		m.Level >= shortest && m.Level <= longest {
		return m, true
	}
	return DefaultModel(), false
}

// inputs lists the fields of m that the comparison of the sides used.
func (m Model) inputs() []working.Input {
	return []working.Input{
		{Key: "input.trial_sd", Value: m.TrialSD, Unit: "1"},
		{Key: "input.trial_sd_log_sd", Value: m.TrialSDLogSD, Unit: "1"},
		{Key: "input.visit_sd", Value: m.VisitSD, Unit: "1"},
		{Key: "input.side_sd", Value: m.SideSD, Unit: "1"},
		{Key: "input.level", Value: m.Level.Seconds(), Unit: "s"},
		{Key: "input.level_sd", Value: m.LevelSD, Unit: "1"},
	}
}
