package main

import (
	"errors"
	"testing"
)

// TestMedian: the middle value, of an even count the mean of the two middle ones (its definition).
func TestMedian(t *testing.T) {
	for _, tt := range []struct {
		name   string
		values []float64
		want   float64
	}{
		{"odd count", []float64{9, 1, 4, 100, 3}, 4},
		{"even count", []float64{8, 1, 2, 4}, 3},
		{"one", []float64{7}, 7},
		{"none", nil, 0},
	} {
		if got := median(tt.values); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}

// TestBeside: the first round is not counted, and the ratio is the median of the rounds' own
// ratios, here 2, 2, 2, 4 and 50, not that of the medians.
func TestBeside(t *testing.T) {
	played := func(values ...float64) sampler {
		return func() (float64, error) {
			v := values[0]
			values = values[1:]
			return v, nil
		}
	}
	got, err := beside(played(900, 2, 20, 8, 4, 50), played(1, 1, 10, 4, 1, 1))
	if want := (pair{ratio: 2, subject: 8, peer: 1}); err != nil || got != want {
		t.Errorf("%+v (%v), want %+v", got, err, want)
	}
	fault := errors.New("fault")
	faulty := func() (float64, error) { return 0, fault }
	if _, err := beside(faulty, played(1)); !errors.Is(err, fault) {
		t.Errorf("a subject that fails: %v", err)
	}
	if _, err := beside(played(1), faulty); !errors.Is(err, fault) {
		t.Errorf("a peer that fails: %v", err)
	}
}
