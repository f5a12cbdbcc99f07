// Package metrics writes numbers about a running program in the text format
// that monitoring programs read: "Exposition formats", Prometheus documentation,
// text format version 0.0.4.
//
// It is pure: who calls hands the numbers in. Units stand last in a metric's
// name: _bytes, _seconds, and _total for what only grows.
package metrics

import (
	"strconv"
	"strings"
)

// ContentType is what the text is served as.
const ContentType = "text/plain; version=0.0.4; charset=utf-8"

// Kind says how a number moves.
type Kind string

// The kinds there are.
const (
	Counter Kind = "counter" // only grows, from 0 at the start of the program
	Gauge   Kind = "gauge"
)

// Metric is one number, or one for each value of a label.
type Metric struct {
	Name, Help string
	Kind       Kind
	Label      string // name of the label that tells Samples apart; "" for a single number
	Samples    []Sample
}

// Sample is one number. Value is that of the label, "" if the metric has none.
type Sample struct {
	Value  string
	Number float64
}

// One returns a metric of a single number.
func One(name string, kind Kind, help string, number float64) Metric {
	return Metric{Name: name, Help: help, Kind: kind, Samples: []Sample{{Number: number}}}
}

var (
	escapeHelp  = strings.NewReplacer(`\`, `\\`, "\n", `\n`)
	escapeLabel = strings.NewReplacer(`\`, `\\`, "\n", `\n`, `"`, `\"`)
)

// Append adds the text of all metrics to b, in their order.
func Append(b []byte, all []Metric) []byte {
	for _, m := range all {
		b = append(b, "# HELP "+m.Name+" "+escapeHelp.Replace(m.Help)+"\n"...)
		b = append(b, "# TYPE "+m.Name+" "+string(m.Kind)+"\n"...)
		for _, s := range m.Samples {
			b = append(b, m.Name...)
			if m.Label != "" {
				b = append(b, "{"+m.Label+`="`+escapeLabel.Replace(s.Value)+`"}`...)
			}
			b = append(b, ' ')
			b = strconv.AppendFloat(b, s.Number, 'f', -1, 64)
			b = append(b, '\n')
		}
	}
	return b
}
