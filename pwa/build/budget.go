package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// The budgets, in bytes of brotli: what a phone must fetch before it works without a network.
const (
	coreBudget = 900_000
	pageBudget = 60_000
)

// size is one measured figure; target 0 means that nothing is asked of it.
type size struct {
	Name   string `json:"name"`
	Value  int    `json:"value"`
	Unit   string `json:"unit"`
	Target int    `json:"target,omitempty"`
	Holds  bool   `json:"holds"`
}

// measure sums what was packed: the core, all scripts (page, worker and service worker together),
// style and fonts.
func measure(packed site) []size {
	var core, raw, script, style, font int
	for name, content := range packed {
		plain := strings.TrimSuffix(name, ".br")
		switch ext := path.Ext(plain); {
		case name == plain && ext == ".wasm":
			raw += len(content)
		case name == plain && ext == ".woff2":
			font += len(content)
		case name == plain:
		case ext == ".wasm":
			core += len(content)
		case ext == ".js":
			script += len(content)
		case ext == ".css":
			style += len(content)
		}
	}
	return []size{
		{"core, brotli", core, "B", coreBudget, core > 0 && core <= coreBudget},
		{"core, raw", raw, "B", 0, true},
		{"page code, brotli", script, "B", pageBudget, script > 0 && script <= pageBudget},
		{"style, brotli", style, "B", 0, true},
		{"fonts", font, "B", 0, true},
	}
}

// report prints the sizes and fails when one is over its budget.
func report(w io.Writer, form string, sizes []size) error {
	var over []string
	for _, s := range sizes {
		if form == "json" {
			line, err := json.Marshal(s)
			if err != nil {
				return err
			}
			fmt.Fprintln(w, string(line))
		} else if s.Target > 0 {
			fmt.Fprintf(w, "%-18s %9d B of %d\n", s.Name, s.Value, s.Target)
		} else {
			fmt.Fprintf(w, "%-18s %9d B\n", s.Name, s.Value)
		}
		if !s.Holds {
			over = append(over, s.Name)
		}
	}
	if len(over) > 0 {
		return errors.New("over budget: " + strings.Join(over, "; "))
	}
	return nil
}
