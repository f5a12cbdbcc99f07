// Package live tells open phones over websockets that there is news, and
// nothing else: what the news is, they fetch.
//
// A Hub is safe for concurrent use. Each socket has one goroutine that reads and
// one that writes; a phone that does not read is cut off, and costs the others nothing.
package live

import (
	"sync"

	"github.com/gorilla/websocket"

	"evenhold/sync/clock"
)

// Limits of one hub; our own choice.
const (
	socketsPerPerson = 20
	socketsWaiting   = 500 // that have not shown their ticket
)

// Listener is whose socket it is.
type Listener struct {
	Person string
	Device clock.Device
}

// Hub keeps the open sockets of a practice.
type Hub struct {
	mu      sync.Mutex
	open    map[*socket]bool // to whether it has shown its ticket
	waiting int
	dropped int64
	closing bool
	gone    sync.WaitGroup
}

// NewHub returns a hub without sockets.
func NewHub() *Hub { return &Hub{open: map[*socket]bool{}} }

// News tells every socket of the given people, but not those of the device the news came from.
func (h *Hub) News(people map[string]bool, from clock.Device) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for s, known := range h.open {
		if known && people[s.who.Person] && s.who.Device != from {
			s.tell()
		}
	}
}

// Drop closes the sockets of a device that was shut out.
func (h *Hub) Drop(device clock.Device) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for s, known := range h.open {
		if known && s.who.Device == device {
			s.end(websocket.ClosePolicyViolation, "signed off")
		}
	}
}

// Devices returns the devices with open sockets.
func (h *Hub) Devices() []clock.Device {
	h.mu.Lock()
	defer h.mu.Unlock()
	var devices []clock.Device
	for s, known := range h.open {
		if known {
			devices = append(devices, s.who.Device)
		}
	}
	return devices
}

// Len returns the number of open sockets.
func (h *Hub) Len() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.open)
}

// drop counts a socket that was cut off because its phone took nothing in.
func (h *Hub) drop() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.dropped++
}

// Dropped returns how many sockets were cut off because their phones took nothing in.
func (h *Hub) Dropped() int64 {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.dropped
}

// Close tells every socket that the server goes away, takes no new ones, and
// returns when all are closed. http.Server.Shutdown leaves them open.
func (h *Hub) Close() {
	h.mu.Lock()
	h.closing = true
	for s := range h.open {
		s.end(websocket.CloseGoingAway, "the server is stopping")
	}
	h.mu.Unlock()
	h.gone.Wait()
}

// add takes a socket in before its ticket is known; false if there is no room.
func (h *Hub) add(s *socket) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closing || h.waiting >= socketsWaiting {
		return false
	}
	h.open[s] = false
	h.waiting++
	h.gone.Add(1)
	return true
}

// know says whose socket s is; false if that person has too many.
func (h *Hub) know(s *socket, who Listener) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	count := 0
	for other, known := range h.open {
		if known && other.who.Person == who.Person {
			count++
		}
	}
	if count >= socketsPerPerson {
		return false
	}
	s.who = who
	h.open[s] = true
	h.waiting--
	return true
}

func (h *Hub) remove(s *socket) {
	h.mu.Lock()
	defer h.mu.Unlock()
	known, found := h.open[s]
	if !found {
		return
	}
	if !known {
		h.waiting--
	}
	delete(h.open, s)
	h.gone.Done()
}
