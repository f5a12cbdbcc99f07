package export

import (
	"math/rand/v2"
	"testing"
	"time"
)

// TestInstant holds instant to the standard library's RFC 3339 over the years 0 to 9999, in
// zones of whole minutes, and to the examples printed in RFC 3339 (July 2002), section 5.8.
func TestInstant(t *testing.T) {
	rng := rand.New(rand.NewPCG(20261125, 0))
	first := time.Date(0, 1, 2, 0, 0, 0, 0, time.UTC).UnixMilli()
	last := time.Date(9999, 12, 30, 0, 0, 0, 0, time.UTC).UnixMilli()
	for range 20_000 {
		ms, zoneMin := first+rng.Int64N(last-first), rng.Int64N(28*60)-14*60
		zone := time.FixedZone("", int(zoneMin)*60)
		want := time.UnixMilli(ms).In(zone).Format(time.RFC3339)
		if got := instant(ms, zoneMin); got != want {
			t.Fatalf("%d ms, %d min: %s, want %s", ms, zoneMin, got, want)
		}
	}
	for want, at := range map[string][2]int64{
		"1996-12-19T16:39:57-08:00": {851_042_397_000, -480},
		"1985-04-12T23:20:50Z":      {482_196_050_520, 0},
	} {
		if got := instant(at[0], at[1]); got != want {
			t.Errorf("%v: %s, want %s", at, got, want)
		}
	}
}
