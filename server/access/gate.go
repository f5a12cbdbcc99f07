package access

import (
	"errors"
	"net/netip"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"evenhold/server/store"
)

// Wrong codes from one address: a burst for a family with one typing error each,
// then one every six seconds. 100,000 guesses take a week at this pace.
const (
	wrongBurst    = 10
	wrongInterval = 6 * time.Second
	gateSize      = 4096 // addresses remembered
)

// ErrSlow says that an address has tried too many wrong codes for now.
var ErrSlow = errors.New("too many wrong codes")

// SlowFor is how long an address that got ErrSlow should wait.
const SlowFor = wrongInterval

// gate slows down whoever tries wrong codes and nobody else.
type gate struct {
	now func() time.Time

	mu     sync.Mutex
	tries  map[netip.Prefix]*rate.Limiter
	sorted time.Time // when addresses were last forgotten
}

func newGate(now func() time.Time) *gate {
	return &gate{now: now, tries: map[netip.Prefix]*rate.Limiter{}}
}

// pass runs try unless address must wait; a wrong or locked code or passkey costs it. The
// price is taken before the try, so that many guesses at once cost as much as one by one.
func (g *gate) pass(address string, try func() error) error {
	now := g.now()
	price := g.limiter(network(address)).ReserveN(now, 1)
	if price.DelayFrom(now) > 0 {
		price.CancelAt(now)
		return ErrSlow
	}
	err := try()
	if !errors.Is(err, store.ErrWrongCode) && !errors.Is(err, store.ErrLocked) &&
		!errors.Is(err, ErrPasskey) {
		price.CancelAt(now)
	}
	return err
}

func (g *gate) limiter(from netip.Prefix) *rate.Limiter {
	g.mu.Lock()
	defer g.mu.Unlock()
	if l, found := g.tries[from]; found {
		return l
	}
	if now := g.now(); len(g.tries) >= gateSize && now.Sub(g.sorted) >= wrongInterval {
		g.sorted = now
		for key, l := range g.tries {
			if l.TokensAt(now) >= wrongBurst {
				delete(g.tries, key)
			}
		}
	}
	if len(g.tries) >= gateSize {
		// Every remembered address is being slowed down: newcomers share one purse.
		from = netip.Prefix{}
		if l, found := g.tries[from]; found {
			return l
		}
	}
	l := rate.NewLimiter(rate.Every(wrongInterval), wrongBurst)
	g.tries[from] = l
	return l
}

// network returns what counts as one address: for IPv6 the /64 that one
// household is given. An address that cannot be read shares one purse.
func network(address string) netip.Prefix {
	ip, err := netip.ParseAddr(address)
	if err != nil {
		return netip.Prefix{}
	}
	ip = ip.Unmap().WithZone("")
	bits := ip.BitLen()
	if ip.Is6() {
		bits = 64
	}
	prefix, err := ip.Prefix(bits)
	if err != nil {
		return netip.Prefix{}
	}
	return prefix
}
