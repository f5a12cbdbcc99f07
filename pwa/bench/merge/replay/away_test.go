package replay

import "testing"

// TestAway_X10_ATripTellsAWeek: a phone of a practice of 300 clients that was away for a week
// learns which records changed in one round trip of at most 10 kB, the project's own bound.
func TestAway_X10_ATripTellsAWeek(t *testing.T) {
	got, err := Away(300, 1_704_067_200_000)
	if err != nil {
		t.Fatal(err)
	}
	if got > 10_000 || got < 300 {
		t.Errorf("%d bytes, want at most 10000 and something for each record", got)
	}
}
