package sides_test

import (
	"errors"
	"testing"

	"evenhold/internal/sides"
)

// TestWorks pins the mapping that everything else leans on (common practice,
// no source).
func TestWorks(t *testing.T) {
	if got := sides.DownRight.Works(); got != sides.WorksRight {
		t.Errorf("a side bridge on the right elbow works the %s side, want right", got)
	}
	if got := sides.DownLeft.Works(); got != sides.WorksLeft {
		t.Errorf("a side bridge on the left elbow works the %s side, want left", got)
	}
	if got := sides.HandRight.Works(); got != sides.WorksLeft {
		t.Errorf("a weight in the right hand works the %s side, want left", got)
	}
	if got := sides.HandLeft.Works(); got != sides.WorksRight {
		t.Errorf("a weight in the left hand works the %s side, want right", got)
	}
}

// TestFor checks that each way back leads to the side one started from.
func TestFor(t *testing.T) {
	for _, w := range []sides.Working{sides.WorksLeft, sides.WorksRight} {
		if got := sides.DownFor(w).Works(); got != w {
			t.Errorf("DownFor(%s) works %s", w, got)
		}
		if got := sides.HandFor(w).Works(); got != w {
			t.Errorf("HandFor(%s) works %s", w, got)
		}
		if w.Other() == w || w.Other().Other() != w {
			t.Errorf("Other of %s is %s", w, w.Other())
		}
	}
	if got := sides.Hand("").Works(); got != "" {
		t.Errorf("no hand works %q, want no side", got)
	}
}

func TestParse(t *testing.T) {
	for _, s := range []string{"", "LEFT", "l", "both", "right "} {
		if _, err := sides.ParseWorking(s); !errors.Is(err, sides.ErrUnknown) {
			t.Errorf("ParseWorking(%q) = %v, want ErrUnknown", s, err)
		}
	}
	if h, err := sides.ParseHand("left"); err != nil || h != sides.HandLeft {
		t.Errorf("ParseHand(left) = %v, %v", h, err)
	}
	if d, err := sides.ParseDown("right"); err != nil || d != sides.DownRight {
		t.Errorf("ParseDown(right) = %v, %v", d, err)
	}
}
