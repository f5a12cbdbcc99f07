package dose_test

import (
	"testing"

	"evenhold/pwa/bench/dose"
)

// TestRun: what is timed compares doses, or its time would say nothing.
func TestRun(t *testing.T) {
	s, err := dose.New()
	if err != nil {
		t.Fatal(err)
	}
	if tried := s.Run(); tried < 100 {
		t.Errorf("only %d doses were compared", tried)
	}
}
