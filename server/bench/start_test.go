package main

import (
	"fmt"
	"strings"
	"testing"
)

// told is what the browser's part prints, with five equal starts at each speed.
func told(page, worker float64) []byte {
	five := func(painted, answered float64) string {
		one := fmt.Sprintf(`{"paintedMS":%g,"answeredMS":%g}`, painted, answered)
		return strings.TrimSuffix(strings.Repeat(one+",", rounds), ",")
	}
	return fmt.Appendf(nil, `{"browser":"1.2","rows":8,"speeds":[
		{"times":1,"app":[%s],"empty":[%s]},
		{"times":4,"page":%g,"worker":%g,"app":[%s],"empty":[%s]}]}`,
		five(150, 500), five(60, 100), page, worker, five(900, 2400), five(200, 400))
}

// TestStartRows: all ratios are to the empty page's worker answering; worked by hand.
func TestStartRows(t *testing.T) {
	rows, err := startRows(told(3.9, 4.2))
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{
		"start 1x, first row painted": 150.0 / 100, "start 1x, core answered": 500.0 / 100,
		"start 4x, first row painted": 900.0 / 400, "start 4x, core answered": 2400.0 / 400,
		"start 4x, slow-down of the page": 3.9, "start 4x, slow-down of the worker": 4.2,
	}
	if len(rows) != len(want) {
		t.Errorf("%d rows, want %d", len(rows), len(want))
	}
	for _, r := range rows {
		if value, found := want[r.Name]; !found || r.Value != value {
			t.Errorf("%s is %v, want %v", r.Name, r.Value, value)
		}
	}
}

// TestStartRows_MissedSlowdown: figures at another slow-down than asked for never pass unremarked.
func TestStartRows_MissedSlowdown(t *testing.T) {
	for _, seen := range [][2]float64{{1.1, 4}, {4, 9}} {
		rows, err := startRows(told(seen[0], seen[1]))
		if err == nil || len(rows) == 0 {
			t.Errorf("page %g and worker %g: %d rows, error %v", seen[0], seen[1], len(rows), err)
		}
	}
}

func TestStartRows_Unreadable(t *testing.T) {
	for _, text := range []string{
		"", "{", `{"speeds":[{"times":1,"app":[],"empty":[]}]}`, `{"other":1}`,
	} {
		if rows, err := startRows([]byte(text)); err == nil {
			t.Errorf("%q gives %v", text, rows)
		}
	}
}
