package main

import "testing"

// TestPeerRows_NamesTheBest: each row is told beside the library that is best at that very thing,
// and a target that is missed says so. Worked by hand.
func TestPeerRows_NamesTheBest(t *testing.T) {
	own := replayed{WholeBytes: 40, SessionBytes: 30, ApartBytes: 3, SyncsBytes: 5, LoadMS: 4,
		MergeMS: 3, SetMS: 2, MemoryBytes: 7,
		SessionBareBytes: 20, ApartBareBytes: 2, SyncsBareBytes: 4}
	others := []replayed{
		{Name: "first", WholeBytes: 50, SessionBytes: 60, ApartBytes: 9, SyncsBytes: 9, LoadMS: 9,
			MergeMS: 1, MemoryBytes: 14},
		{Name: "second", WholeBytes: 60, SessionBytes: 40, ApartBytes: 9, SyncsBytes: 20, LoadMS: 5,
			MergeMS: 2, MemoryBytes: 15},
	}
	rows := peerRows(own, others, 1)
	want := []struct {
		value float64
		holds bool
		note  string
	}{
		{40.0 / 50, true, "40 B beside 50 of first"},
		{20.0 / 40, true, "20 B beside 40 of second"},
		{2.0 / 9, true, "2 B beside 9 of first"},
		{4.0 / 9, true, "4 B beside 9 of first"},
		{30.0 / 40, false, "30 B beside 40 of second"},
		{3.0 / 9, true, "3 B beside 9 of first"},
		{5.0 / 9, false, "5 B beside 9 of first"},
		{1.0 / 5, true, "1 ms beside 5 of second"},
		{4.0 / 5, true, "4 ms beside 5 of second"},
		{7.0 / 14, true, "7 B beside 14 of first"},
		{2, false, ""},
		{3, false, "3 ms beside 1 of first"},
	}
	if len(rows) != len(want) {
		t.Fatalf("%d rows, want %d", len(rows), len(want))
	}
	for i, w := range want {
		if r := rows[i]; r.Value != w.value || *r.Holds != w.holds || r.Note != w.note {
			t.Errorf("%s: %v, holds %v, %q; want %+v", r.Name, r.Value, *r.Holds, r.Note, w)
		}
	}
}
