package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// row is one measured figure. Target and Holds are null where nothing is asked of it.
type row struct {
	Name   string   `json:"name"`
	Value  float64  `json:"value"`
	Unit   string   `json:"unit"`
	Target *float64 `json:"target"`
	Holds  *bool    `json:"holds"`
	Note   string   `json:"note,omitempty"` // the named peer, and what was seen on the way
}

// figure is a row of which nothing is asked.
func figure(name string, value float64, unit, note string) row {
	return row{Name: name, Value: value, Unit: unit, Note: note}
}

// limited is a row whose value may not exceed target.
func limited(name string, value float64, unit string, target float64, note string) row {
	holds := value <= target
	return row{Name: name, Value: value, Unit: unit, Target: &target, Holds: &holds, Note: note}
}

// report prints rows as they come: a table for people, or one JSON object a line.
type report struct {
	out    io.Writer
	json   bool
	wanted []string // beginnings of names; empty wants all
	lines  int
	over   []string // names of rows whose target does not hold
}

// wants reports whether a row with this name was asked for.
func (r *report) wants(name string) bool {
	for _, w := range r.wanted {
		if strings.HasPrefix(name, w) {
			return true
		}
	}
	return len(r.wanted) == 0
}

// wantsSection reports whether any row of a section may have been asked for.
func (r *report) wantsSection(s section) bool {
	for _, w := range r.wanted {
		if strings.HasPrefix(s.name, w) || strings.HasPrefix(w, s.name) {
			return true
		}
	}
	return len(r.wanted) == 0 && !s.isLong
}

// add prints the rows that were asked for.
func (r *report) add(rows ...row) error {
	for _, one := range rows {
		if !r.wants(one.Name) {
			continue
		}
		if one.Holds != nil && !*one.Holds {
			r.over = append(r.over, one.Name)
		}
		if err := r.print(one); err != nil {
			return err
		}
	}
	return nil
}

const tableForm = "%-58s %10s %-13s %10s  %-5s  %s"

func (r *report) print(one row) error {
	if math.IsNaN(one.Value) || math.IsInf(one.Value, 0) {
		return fmt.Errorf("%s: the figure is no number", one.Name)
	}
	if r.json {
		line, err := json.Marshal(one)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(r.out, "%s\n", line)
		return err
	}
	if r.lines++; r.lines == 1 {
		if err := r.line("name", "value", "unit", "target", "holds", "note"); err != nil {
			return err
		}
	}
	target, holds := "-", "-"
	if one.Target != nil {
		target = plain(*one.Target)
	}
	if one.Holds != nil {
		holds = map[bool]string{true: "yes", false: "NO"}[*one.Holds]
	}
	return r.line(one.Name, plain(one.Value), one.Unit, target, holds, one.Note)
}

func (r *report) line(cells ...any) error {
	_, err := fmt.Fprintln(r.out, strings.TrimRight(fmt.Sprintf(tableForm, cells...), " "))
	return err
}

// plain writes a figure as people read it: three figures, and whole numbers whole.
func plain(v float64) string {
	if math.Abs(v) >= 100 || v == math.Trunc(v) {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return strconv.FormatFloat(v, 'g', 3, 64)
}
