package main

import (
	"errors"
	"fmt"
	"time"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// workedOut measures the comparison of the sides and the suggested plan of a record's latest test,
// beside opening that record.
func workedOut(d *record.Doc, open sampler) ([]row, error) {
	tests := sessions.Tests(d)
	if len(tests) == 0 {
		return nil, errors.New("the longest record of the example has no test")
	}
	test := tests[len(tests)-1]
	var trials []symmetry.Trial
	for _, t := range test.Trials {
		trials = append(trials, symmetry.Trial{Side: t.Working,
			Hold: time.Duration(t.HeldMS) * time.Millisecond, Stop: symmetry.Stop(t.Stop)})
	}
	compared := symmetry.Compare(trials, symmetry.DefaultModel())
	if compared.Weaker == "" {
		return nil, errors.New("the latest test of the example lacks a side")
	}
	in := suggestInput(d, test, compared)
	if len(progression.Suggest(in).Items) == 0 {
		return nil, errors.New("nothing is suggested for the longest record of the example")
	}
	suggestion := progression.Suggest(in)
	known, err := planning.Capacity(d)
	if err != nil {
		return nil, fmt.Errorf("capacity in the longest record of the example: %w", err)
	}
	var rows []row
	for _, subject := range []struct {
		name string
		work func()
	}{
		{"merge, capacity learnt", func() { _, _ = planning.Capacity(d) }},
		{"merge, dose searched", func() {
			planning.PrescribeFor(known, true, planning.Practice{}, suggestion)
		}},
		{"merge, sides compared", func() { symmetry.Compare(trials, symmetry.DefaultModel()) }},
		{"merge, plan suggested", func() { progression.Suggest(in) }},
	} {
		work := func() error { subject.work(); return nil }
		got, err := beside(repeat(1, work), open)
		if err != nil {
			return nil, err
		}
		whole := float64(d.Len()) // opening is told for one operation
		rows = append(rows, figure(subject.name+", of opening", got.ratio/whole, "ratio",
			fmt.Sprintf("%.0f µs beside %.0f µs for opening the record of %d operations",
				got.subject/1000, got.peer*whole/1000, d.Len())))
	}
	return rows, nil
}

func suggestInput(
	d *record.Doc, test sessions.Test, compared symmetry.Comparison,
) progression.Input {
	client, _ := sessions.ClientIn(d)
	step, _ := progression.StepByID(test.Step)
	hold := func(w sides.Working) progression.Hold {
		t, found := test.Last(w)
		return progression.Hold{Tested: found, Held: time.Duration(t.HeldMS) * time.Millisecond,
			AtLeast: t.IsBound(), Stop: progression.StopReason(t.Stop)}
	}
	return progression.Input{
		MassG: client.MassG, Posture: step.Posture, Weaker: compared.Weaker,
		LeftHold: hold(sides.WorksLeft), RightHold: hold(sides.WorksRight),
		LargerThanNoise: compared.Verdict == symmetry.LargerThanNoise,
	}
}
