package export_test

import (
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"evenhold/internal/export"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// read takes a table apart with the standard library's reader of RFC 4180.
func read(t *testing.T, s string) []map[string]string {
	t.Helper()
	lines, err := csv.NewReader(strings.NewReader(s)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func example() ([]sessions.Test, []sessions.Trunk, []sessions.Session) {
	started := time.Date(2026, 3, 29, 8, 30, 0, 0, time.UTC).UnixMilli()
	tests := []sessions.Test{{
		Step: "straight_leg_hold", TZMin: 120, Trials: []sessions.Trial{{
			Down: sides.DownRight, Working: sides.WorksRight, HeldMS: 58_250, Stop: "position",
			Clock: "mono", StartedMS: started,
		}},
	}}
	done := []sessions.Session{{
		TZMin: -210, Effort: 0, Pain: -1, PainPlace: "=hip, \"left\"\nand back",
		Sets: []sessions.Set{{
			Step: "suitcase_carry", Hand: sides.HandRight, Working: sides.WorksLeft, Number: 2,
			Reps: 1, LoadG: 12_500, DistanceMM: 40_000, StartedMS: started, Clock: "mono",
		}},
	}}
	trunks := []sessions.Trunk{{
		What: sessions.Extensor, TZMin: 60, HeldMS: 101_000, Stop: "limit", Clock: "wall",
		StartedMS: started,
	}}
	return tests, trunks, done
}

// TestEfforts reads the table back with encoding/csv. RFC 4180 asks for CRLF
// and quotes; the times are those of RFC 3339 (July 2002). A weight in the
// right hand works the left side, the right elbow down works the right side
// (common practice, no source).
func TestEfforts(t *testing.T) {
	table := export.Efforts(example())
	if strings.Count(table, "\r\n") != 4 {
		t.Errorf("four lines should end in CRLF: %q", table)
	}
	rows := read(t, table)
	want := []map[string]string{
		{"what": "test", "started": "2026-03-29T10:30:00+02:00", "down_side": "right", "hand": "",
			"working_side": "right", "held_s": "58.25", "stopped_by": "position", "pain_0_10": ""},
		{"what": "trunk_hold", "started": "2026-03-29T09:30:00+01:00", "step": "extensor",
			"down_side": "", "working_side": "", "held_s": "101", "stopped_by": "limit"},
		{"what": "set", "started": "2026-03-29T05:00:00-03:30", "down_side": "", "hand": "right",
			"working_side": "left", "set": "2", "load_kg": "12.5", "distance_m": "40", "held_s": "",
			"time_s": "", "effort_0_10": "0", "pain_0_10": "",
			"pain_place": "'=hip, \"left\"\nand back"},
	}
	if len(rows) != len(want) {
		t.Fatalf("%d rows, want %d", len(rows), len(want))
	}
	for i := range want {
		for name, value := range want[i] {
			if rows[i][name] != value {
				t.Errorf("row %d, %s: %q, want %q", i, name, rows[i][name], value)
			}
		}
	}
}

// TestEffortsFormulas checks the words that spreadsheets run (OWASP, CSV
// Injection): in text they are held back, in numbers they cannot stand.
func TestEffortsFormulas(t *testing.T) {
	tests, _, done := example()
	for _, begin := range []string{"=", "+", "-", "@", "\t", "\r"} {
		done[0].PainPlace = begin + "1+1"
		rows := read(t, export.Efforts(tests, nil, done))
		if got := rows[1]["pain_place"]; !strings.HasPrefix(got, "'") {
			t.Errorf("%q came out as %q", done[0].PainPlace, got)
		}
	}
}

// TestEffortsEmpty checks that nothing recorded is a header and no row.
func TestEffortsEmpty(t *testing.T) {
	if rows := read(t, export.Efforts(nil, nil, nil)); len(rows) != 0 {
		t.Errorf("%d rows of nothing", len(rows))
	}
}
