package main

import (
	"bytes"
	"encoding/json"
	"maps"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
)

// TestReport_JSON: each line is an object with the five promised names, null where there is no
// target.
func TestReport_JSON(t *testing.T) {
	var out bytes.Buffer
	r := &report{out: &out, json: true}
	err := r.add(figure("a", 0.5, "ratio", ""), limited("b", 3, "B", 2, "more"),
		limited("c", 2, "B", 2, ""))
	if err != nil {
		t.Fatal(err)
	}
	want := []map[string]any{
		{"name": "a", "value": 0.5, "unit": "ratio", "target": nil, "holds": nil},
		{"name": "b", "value": 3.0, "unit": "B", "target": 2.0, "holds": false, "note": "more"},
		{"name": "c", "value": 2.0, "unit": "B", "target": 2.0, "holds": true},
	}
	lines := strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
	if len(lines) != len(want) {
		t.Fatalf("%d lines, want %d", len(lines), len(want))
	}
	for i, line := range lines {
		var got map[string]any
		if err := json.Unmarshal([]byte(line), &got); err != nil {
			t.Fatal(err)
		}
		if !maps.Equal(got, want[i]) {
			t.Errorf("line %d: %v, want %v", i, got, want[i])
		}
	}
	if !slices.Equal(r.over, []string{"b"}) {
		t.Errorf("over target: %v, want b alone", r.over)
	}
}

// TestReport_NoNumber: a figure that is no number is an error, never a line.
func TestReport_NoNumber(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1)} {
		var out bytes.Buffer
		if err := (&report{out: &out}).add(figure("a", v, "ratio", "")); err == nil || out.Len() > 0 {
			t.Errorf("%v: error %v, printed %q", v, err, out.String())
		}
	}
}

func TestReport_Selection(t *testing.T) {
	r := &report{wanted: []string{"push of 16", "size"}}
	for name, want := range map[string]bool{
		"push of 16, of raw inserts": true, "push of 1, of raw inserts": false, "size fonts": true,
	} {
		if r.wants(name) != want {
			t.Errorf("wants %q: %v, want %v", name, !want, want)
		}
	}
	if !r.wantsSection(section{name: "push"}) || r.wantsSection(section{name: "start"}) {
		t.Error("the sections to measure are not those of the rows asked for")
	}
	if err := known([]string{"size"}); err != nil {
		t.Error(err)
	}
	if err := known([]string{"size", "speed"}); err == nil {
		t.Error("a selection without a row is not refused")
	}
}

// TestSizeRows reads lines of the form that the build prints.
func TestSizeRows(t *testing.T) {
	rows, err := sizeRows([]byte(
		`{"name":"core, brotli","value":900001,"unit":"B","target":900000,"holds":false}
{"name":"fonts","value":12,"unit":"B","holds":true}
`))
	if err != nil || len(rows) != 2 {
		t.Fatal(rows, err)
	}
	if r := rows[0]; r.Name != "size core, brotli" || *r.Target != 900_000 || *r.Holds {
		t.Errorf("over its budget: %+v", r)
	}
	if r := rows[1]; r.Target != nil || r.Holds != nil {
		t.Errorf("without a budget: %+v", r)
	}
	for _, told := range []string{"", "built it\n"} {
		if _, err := sizeRows([]byte(told)); err == nil {
			t.Errorf("%q is taken for sizes", told)
		}
	}
}

// TestRawParameters: the peer of a push runs with the settings of the server's own writer, or the
// ratio would compare two durabilities.
func TestRawParameters(t *testing.T) {
	source, err := os.ReadFile("../store/setting.go")
	if err != nil {
		t.Fatal(err)
	}
	joined := strings.ReplaceAll(string(source), "\" +\n\t\"", "")
	if !strings.Contains(joined, `const writerParameters = "`+rawParameters+`"`) {
		t.Error("the server's writer has other parameters than", rawParameters)
	}
}
