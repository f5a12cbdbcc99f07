package access

import (
	"fmt"
	"sync"
	"time"

	"evenhold/server/store"
	"evenhold/sync/clock"
)

// Tickets makes and takes back the one-use tickets that open a websocket. Only
// tickets this process has made and not seen again are good, so that a restart
// makes none good twice. It is safe for concurrent use.
type Tickets struct {
	tokens *Tokens

	mu   sync.Mutex
	open map[string]time.Time // id to end of life
}

// NewTickets returns the maker of tickets signed by tokens.
func NewTickets(tokens *Tokens) *Tickets {
	return &Tickets{tokens: tokens, open: map[string]time.Time{}}
}

// Make returns a ticket for m, good once within 30 seconds.
func (t *Tickets) Make(m store.Member) (string, error) {
	id := store.RandomID()
	ticket, err := t.tokens.make(ticketKind, m, id)
	if err != nil {
		return "", err
	}
	now := t.tokens.now()
	t.mu.Lock()
	defer t.mu.Unlock()
	for old, end := range t.open {
		if now.After(end) {
			delete(t.open, old)
		}
	}
	t.open[id] = now.Add(ticketKind.life)
	return ticket, nil
}

// Take uses a ticket up and returns the person and device it was made for, or ErrToken.
func (t *Tickets) Take(ticket string) (personID string, device clock.Device, err error) {
	c, device, err := t.tokens.check(ticketKind, ticket)
	if err != nil {
		return "", 0, err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if _, found := t.open[c.ID]; !found {
		return "", 0, fmt.Errorf("%w: the ticket was used or not made here", ErrToken)
	}
	delete(t.open, c.ID)
	return c.Subject, device, nil
}
