package exchange_test

import "testing"

// TestUnsentSinceMS: the oldest entry that is not known to have arrived tells how long this phone
// has been the only one with it; what was refused does not wait any more.
func TestUnsentSinceMS(t *testing.T) {
	const hourMS = 3_600_000
	p, d := fresh(), newDesk()
	d.except = "locked"
	want := func(when string, ms int64) {
		t.Helper()
		if got := p.UnsentSinceMS(); got != ms {
			t.Errorf("%s: since %d, want %d", when, got, ms)
		}
	}
	want("nothing written", 0)
	write(t, p, "locked", 1, nowMS-9*hourMS)
	write(t, p, "set", 2, nowMS-5*hourMS)
	write(t, p, "set", 3, nowMS-hourMS)
	want("nothing sent", nowMS-9*hourMS)
	exchangeOnce(t, p, d)
	exchangeOnce(t, p, d)
	want("one refused, the others sent", 0)

	back := newDesk()
	back.state.Epoch = epochOne + 1
	exchangeOnce(t, p, back)
	if p.Unsent() != 2 {
		t.Fatalf("%d unsent after the server was set back, want 2", p.Unsent())
	}
	want("the server was set back", nowMS-5*hourMS)
	p = again(t, p)
	want("after a restart", nowMS-5*hourMS)
}
