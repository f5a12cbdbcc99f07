package main

import (
	"fmt"
	"math"

	"evenhold/pwa/bench/merge/replay"
	"evenhold/pwa/bench/merge/trace"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// steepest is the power of the length of a record with which its cost may grow: 1 is linear, the
// rest is room for what memory does to times.
const steepest = 1.1

// growth measures what a record of 1, 2, 4 and 8 years costs, natively.
func growth(*bench) ([]row, error) {
	years := []int64{1, 2, 4, 8}
	var sizes, loads, applies []float64
	for _, n := range years {
		d, err := yearsOf(trace.Make(n, replay.Seed))
		if err != nil {
			return nil, err
		}
		load, err := loadMS(d)
		if err != nil {
			return nil, err
		}
		apply, err := medianOf(applier(d))
		if err != nil {
			return nil, err
		}
		sizes = append(sizes, float64(len(wire.AppendSnapshot(nil, d))))
		loads = append(loads, load)
		applies = append(applies, apply*float64(d.Len())/1e6)
	}
	told := func(name, unit string, costs []float64) row {
		note := "1, 2, 4, 8 years:"
		for _, cost := range costs {
			note += " " + plain(cost)
		}
		return limited("merge, growth of "+name, slope(years, costs), "power", steepest,
			note+" "+unit)
	}
	return []row{
		told("the record", "B", sizes), told("loading and showing it", "ms", loads),
		told("applying its operations", "ms", applies),
	}, nil
}

// slope returns the power of x with which y grows: the least-squares slope of their logarithms.
func slope(x []int64, y []float64) float64 {
	var meanX, meanY float64
	for i := range x {
		meanX += math.Log(float64(x[i])) / float64(len(x))
		meanY += math.Log(y[i]) / float64(len(x))
	}
	var up, across float64
	for i := range x {
		dx := math.Log(float64(x[i])) - meanX
		up += dx * (math.Log(y[i]) - meanY)
		across += dx * dx
	}
	return up / across
}

// yearsOf returns the record that the whole years of a trace make.
func yearsOf(lines []trace.Line) (*record.Doc, error) {
	house, err := replay.NewHouse(lines[0].AtMS)
	if err != nil {
		return nil, err
	}
	for at, line := range lines {
		switch {
		case line.Part != trace.PartYears:
		case line.IsSync:
			_, err = house.Sync(line.Phone)
		default:
			err = house.Commit(line)
		}
		if err != nil {
			return nil, fmt.Errorf("line %d of the trace: %w", at, err)
		}
	}
	return house.Record(trace.PhoneA), nil
}
