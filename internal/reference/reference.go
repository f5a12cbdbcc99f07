// Package reference holds the published tables and constants that the
// calculations lean on, each row with its source and with how far it may be
// trusted, and places a hold among a named sample of people.
//
// The tables are tab-separated files, embedded and read once when the program
// starts. Everything here is pure and safe for concurrent use: nothing is
// changed after start. A value whose status is Memory or Estimate must never be
// shown as published.
package reference

import (
	_ "embed"
	"strconv"
	"strings"

	"evenhold/internal/working"
)

//go:embed data/sources.tsv
var sourcesTSV string

//go:embed data/numbers.tsv
var numbersTSV string

var (
	sources = readSources(sourcesTSV)
	numbers = readNumbers(numbersTSV)
)

// Number is one published, remembered or customary value. Unit is UCUM. The
// status of Source is the status of this value.
type Number struct {
	_      [0]func()
	ID     string
	Value  float64
	Unit   string
	Source working.Source
}

// Find returns the number with this id, e.g. "endurance.trunk.b0", and whether
// there is one. data/numbers.tsv lists the ids.
func Find(id string) (Number, bool) {
	n, ok := numbers[id]
	return n, ok
}

// Must returns the number with this id, for ids written in code. It panics on
// an id that data/numbers.tsv does not have.
func Must(id string) Number {
	n, ok := numbers[id]
	if !ok {
		panic("reference: no number " + id)
	}
	return n
}

// SourceOf returns the source with this id, for formulas cited in code. It
// panics on an id that data/sources.tsv does not have.
func SourceOf(id string) working.Source {
	s, ok := sources[id]
	if !ok {
		panic("reference: no source " + id)
	}
	return s
}

// Working returns n as an input line of a derivation under the message key.
func (n Number) Working(key string) working.Input {
	return working.Input{Key: key, Value: n.Value, Unit: n.Unit}
}

func readSources(text string) map[string]working.Source {
	found := map[string]working.Source{}
	for _, row := range rows(text, 6) {
		year := 0
		if row[3] != "" {
			year = int(number(row[3]))
		}
		found[row[0]] = working.Source{
			Title: row[1], Where: row[2], Year: year, DOI: row[4],
			Status: working.Status(row[5]),
		}
	}
	return found
}

func readNumbers(text string) map[string]Number {
	found := map[string]Number{}
	for _, row := range rows(text, 5) {
		if _, twice := found[row[0]]; twice {
			panic("reference: two numbers " + row[0])
		}
		found[row[0]] = Number{
			ID: row[0], Value: number(row[1]), Unit: row[2],
			Source: withStatus(row[3], row[4]),
		}
	}
	return found
}

// withStatus is the source of one row: a paper can be seen while one of its
// numbers is only remembered.
func withStatus(source, status string) working.Source {
	s, ok := sources[source]
	if !ok {
		panic("reference: no source " + source)
	}
	s.Status = working.Status(status)
	return s
}

// rows splits a tab-separated table and drops its heading. A row of another
// width is a mistake in an embedded file, so it panics.
func rows(text string, width int) [][]string {
	var found [][]string
	for i, line := range strings.Split(strings.TrimSpace(text), "\n") {
		fields := strings.Split(line, "\t")
		if len(fields) != width {
			panic("reference: line " + strconv.Itoa(i+1) + " has " + strconv.Itoa(len(fields)) +
				" fields, want " + strconv.Itoa(width) + ": " + line)
		}
		if i > 0 {
			found = append(found, fields)
		}
	}
	return found
}

func number(text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic("reference: " + err.Error())
	}
	return v
}
