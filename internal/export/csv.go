// Package export writes a person's records in forms that other tools read.
//
// Everything is pure: views of records in, text out. Units stand in the names
// of the columns, and each line says the hand or the down side and the working
// side.
package export

import (
	"strconv"
	"strings"

	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// columns are the header of Efforts. pain and effort are those of the session.
var columns = []string{
	"what", "started", "step", "down_side", "hand", "working_side", "set", "reps", "held_s",
	"load_kg", "distance_m", "time_s", "stopped_by", "clock", "effort_0_10", "pain_0_10",
	"pain_place",
}

// Efforts returns every timed hold of the tests, every trunk hold and every set of the
// sessions as CSV, in this order and each in the order given: RFC 4180 (October 2005), UTF-8,
// a header, and lines that end in CRLF. Times of day are RFC 3339 in the zone
// they were taken in; a value that was not said is empty.
//
// Text that a spreadsheet would run as a formula is given an apostrophe in
// front; numbers are left as they are.
func Efforts(tests []sessions.Test, trunks []sessions.Trunk, done []sessions.Session) string {
	var b strings.Builder
	row(&b, columns)
	for _, t := range tests {
		for _, trial := range t.Trials {
			row(&b, []string{
				"test", instant(trial.StartedMS, t.TZMin), Text(t.Step), string(trial.Down), "",
				string(trial.Working), "", "", per(trial.HeldMS, 1000), "", "", "",
				Text(trial.Stop), Text(trial.Clock), "", "", "",
			})
		}
	}
	for _, t := range trunks {
		row(&b, []string{
			"trunk_hold", instant(t.StartedMS, t.TZMin), Text(t.What), "", "", "", "", "",
			per(t.HeldMS, 1000), "", "", "", Text(t.Stop), Text(t.Clock), "", "", "",
		})
	}
	for _, s := range done {
		for _, set := range s.Sets {
			row(&b, setRow(s, set))
		}
	}
	return b.String()
}

func setRow(s sessions.Session, set sessions.Set) []string {
	held, reps := per(set.HeldMS, 1000), strconv.FormatInt(set.Reps, 10)
	if set.Hand != "" {
		held = ""
	}
	return []string{
		"set", instant(set.StartedMS, s.TZMin), Text(set.Step), side(set.Down), side(set.Hand),
		side(set.Working), said(set.Number), reps, held, quantity(set.LoadG, 1000),
		quantity(set.DistanceMM, 1000), quantity(set.TimeMS, 1000), Text(set.Stop),
		Text(set.Clock), scale(s.Effort), scale(s.Pain), Text(s.PainPlace),
	}
}

// row writes one line. Every field is quoted that RFC 4180 wants quoted.
func row(b *strings.Builder, fields []string) {
	for i, f := range fields {
		if i > 0 {
			b.WriteByte(',')
		}
		if strings.ContainsAny(f, "\",\r\n") {
			f = `"` + strings.ReplaceAll(f, `"`, `""`) + `"`
		}
		b.WriteString(f)
	}
	b.WriteString("\r\n")
}

// Table writes lines of cells in the form of Efforts. A cell with a person's own words goes
// through Text first; a number does not.
func Table(lines [][]string) string {
	var b strings.Builder
	for _, line := range lines {
		row(&b, line)
	}
	return b.String()
}

// Text guards a person's own words against being run by a spreadsheet.
func Text(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// side passes the two known words; whatever else a record holds is text.
func side[S sides.Down | sides.Hand | sides.Working](s S) string { return Text(string(s)) }

func per(n int64, unit float64) string {
	return strconv.FormatFloat(float64(n)/unit, 'f', -1, 64)
}

// quantity is per for values of which zero means "not said".
func quantity(n int64, unit float64) string {
	if n == 0 {
		return ""
	}
	return per(n, unit)
}

func said(n int64) string {
	if n == 0 {
		return ""
	}
	return strconv.FormatInt(n, 10)
}

// scale writes an answer from 0 to 10; below 0 it was not given.
func scale(n int64) string {
	if n < 0 {
		return ""
	}
	return strconv.FormatInt(n, 10)
}
