// Command bench measures what the project promises and prints a table, or with -json one object
// a line: name, value, unit, target, holds, and a note that names the peer.
//
// The rows "years" take half an hour and are measured only where they are asked for.
//
// Times are only told beside a named peer measured in the same run, as medians of five rounds; a
// figure by itself says little on another machine. Where the project sets no target, target and
// holds are null. Words after the flags select rows by the beginning of their names.
//
// It exits with 1 when a target does not hold or something could not be measured.
package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"strings"
)

// section is one group of rows; the names of its rows begin with its own.
type section struct {
	name    string
	measure func(*bench) ([]row, error)
	isLong  bool // takes so long that it is measured only where its name is said
}

var sections = []section{
	{name: "size", measure: sizes},
	{name: "memory", measure: memory},
	{name: "start", measure: starts},
	{name: "push", measure: pushes},
	{name: "merge", measure: merges},
	{name: "merge", measure: growth},
	{name: "merge", measure: pages},
	{name: "merge", measure: peers},
	{name: "sides", measure: truths},
	{name: "server", measure: busyServer},
	{name: "years", measure: fiveYears, isLong: true},
}

// bench is what the sections share.
type bench struct {
	folder string   // for what one run leaves behind; gone at the end
	built  []row    // sizes of the built app; nil before build
	binary string   // path of the built server; "" before program
	filled *example // the example practice; nil before it is asked for
}

func main() {
	asJSON := flag.Bool("json", false, "print one JSON object a line instead of a table")
	flag.Usage = func() {
		fmt.Fprintln(os.Stderr, "Usage: scripts/bench [-json] [beginnings of row names]")
		flag.PrintDefaults()
	}
	flag.Parse()
	if err := run(&report{out: os.Stdout, json: *asJSON, wanted: flag.Args()}); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func run(r *report) (err error) {
	if _, err := os.Stat("go.mod"); err != nil {
		return errors.New("start this with scripts/bench: it works from the project's folder")
	}
	if err := known(r.wanted); err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "evenhold-bench-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	if err := r.print(machine()); err != nil {
		return err
	}
	b := &bench{folder: folder}
	var failed []error
	for _, s := range sections {
		if !r.wantsSection(s) {
			continue
		}
		rows, err := s.measure(b)
		if err != nil {
			failed = append(failed, fmt.Errorf("%s: %w", s.name, err))
		}
		if err := r.add(rows...); err != nil {
			return err
		}
	}
	if len(r.over) > 0 {
		failed = append(failed, errors.New("over target: "+strings.Join(r.over, "; ")))
	}
	return errors.Join(failed...)
}

// known refuses a selection that no section could answer.
func known(wanted []string) error {
	for _, w := range wanted {
		r, found := report{wanted: []string{w}}, false
		var names []string
		for _, s := range sections {
			names = append(names, s.name)
			found = found || r.wantsSection(s)
		}
		if !found {
			return fmt.Errorf("no row begins with %q; there are %s", w, strings.Join(names, ", "))
		}
	}
	return nil
}
