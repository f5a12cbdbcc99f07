// Package working says how a number was come by, in a form that a screen can
// open and a report can print: what went in, each step with its formula, the
// sources, and how unsure the result is.
//
// It holds plain values and decides nothing. Everything here is pure. Text that
// people read is not kept here: Key and Cautions are message keys of the phrase
// files. Units are UCUM codes (s, kg, m, N, N.m, %, 1).
package working

import "math"

// Status says how far a number may be trusted to be what its source says.
type Status string

// The statuses. Memory, Estimate and Entered are never shown as published.
const (
	Seen     Status = "seen"     // read in the source itself
	Computed Status = "computed" // worked out from a seen formula and inputs
	Memory   Status = "memory"   // remembered, not checked against the source
	Practice Status = "practice" // common practice in the trade, no source
	Estimate Status = "estimate" // our own, not published
	Entered  Status = "entered"  // entered by the practice
)

// The blank first field of Source, Input, Step and of larger types elsewhere keeps them from
// being compared with ==. Nobody does, but the compiler would make code for it, and for arrays
// of them, that phones download: 6.5 kB of the core in brotli (measured 2026-11-26).

// Source names where a number or a formula comes from: a title, a journal or
// standard, a year and a DOI, and never an author. Empty fields are unknown;
// Year 0 is unknown.
type Source struct {
	_      [0]func()
	Title  string `json:"title,omitempty"`
	Where  string `json:"where,omitempty"` // journal, volume and pages, or standard
	DOI    string `json:"doi,omitempty"`
	Year   int    `json:"year,omitempty"`
	Status Status `json:"status"`
}

// Input is one value that went in. Note is empty or a message key that says
// something about this value, such as that it is only a lower bound.
type Input struct {
	_     [0]func()
	Key   string  `json:"key"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	Note  string  `json:"note,omitempty"`
}

// Step is one line of the derivation. Formula is plain text, e.g. "ln(R/L)".
type Step struct {
	_       [0]func()
	Key     string  `json:"key"`
	Formula string  `json:"formula"`
	Value   float64 `json:"value"`
	Unit    string  `json:"unit"`
}

// Working is the derivation of one result. Low and High bound it with
// probability Level, from 0 to 1, in Unit; Level 0 means that no interval is
// claimed. Key and Cautions are message keys.
type Working struct {
	Key      string   `json:"key"`
	Inputs   []Input  `json:"inputs,omitempty"`
	Steps    []Step   `json:"steps,omitempty"`
	Sources  []Source `json:"sources,omitempty"`
	Low      float64  `json:"low"`
	High     float64  `json:"high"`
	Level    float64  `json:"level"`
	Unit     string   `json:"unit"`
	Cautions []string `json:"cautions,omitempty"`
}

// IsFinite reports whether every number in w can be shown and written as JSON:
// none is NaN or infinite.
func (w Working) IsFinite() bool {
	values := []float64{w.Low, w.High, w.Level}
	for _, in := range w.Inputs {
		values = append(values, in.Value)
	}
	for _, s := range w.Steps {
		values = append(values, s.Value)
	}
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
