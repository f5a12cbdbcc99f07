package main

import (
	"testing"

	"evenhold/internal/planning"
)

// TestBusy: the record is what its rows say, and there is a plan to search a dose for.
func TestBusy(t *testing.T) {
	b, err := newBusy(1_704_067_200_000)
	if err != nil {
		t.Fatal(err)
	}
	tests, sets := len(b.doc.Records("test")), len(b.doc.Records("set"))
	if tests != 30 || sets != 160*14 {
		t.Errorf("%d tests and %d sets, want 30 and 2240", tests, sets)
	}
	if _, err := planning.Capacity(b.doc); err != nil {
		t.Errorf("no capacity can be learnt: %v", err)
	}
	if s, _ := planning.First(b.doc, planning.Practice{}); len(s.Items) == 0 {
		t.Errorf("nothing is suggested: %q", s.Refusal)
	}
}
