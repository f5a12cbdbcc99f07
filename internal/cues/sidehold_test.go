package cues_test

import (
	"testing"
	"time"

	"evenhold/internal/cues"
	"evenhold/internal/sides"
)

// TestSideHold: the time is not told unless asked for, there is one warning, and
// nothing encourages (common practice, no source: keep these constant).
func TestSideHold(t *testing.T) {
	test := cues.SideHold{Down: sides.DownRight}
	same(t, lines(test.Plan(0, time.Hour, all), cues.Say, cues.Beep), `
0 beep start
0 say cue.side.down_right`)

	test.TellTime, test.Limit, test.WarnedAt = true, 100*time.Second, 59*time.Second
	same(t, lines(test.Plan(0, time.Hour, all), cues.Say), `
0 say cue.side.down_right
30 say cue.test.time
59 say cue.test.warning
90 say cue.test.time
100 say cue.test.limit`)

	same(t, lines(test.Plan(31*time.Second, 60*time.Second, all), cues.Say, cues.Beep), `
59 beep half
59 say cue.test.warning
90 say cue.test.time`)
}

func TestSideHoldTimes(t *testing.T) {
	test := cues.SideHold{Down: sides.DownLeft, TellTime: true}
	for _, c := range test.Plan(25*time.Second, 10*time.Second, all) {
		if c.Channel == cues.Say && c.Args["s"] != 30 {
			t.Errorf("at %d ms the time said is %g s, want 30", c.AtMS, c.Args["s"])
		}
	}
}
