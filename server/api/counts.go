package api

import (
	"maps"
	"slices"
	"strconv"
	"sync"

	"evenhold/server/metrics"
	"evenhold/server/store"
	"evenhold/sync/wire"
)

// counts is what the server has done since it started. Nothing in it tells one person or record
// from another. It is safe for concurrent use.
type counts struct {
	mu           sync.Mutex
	acknowledged int
	refused      map[string]int // operations by code
	pushes       map[string]int // whole pushes that were not judged, by code
	requests     map[int]int    // by status
}

func (c *counts) push(p store.Pushed) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.acknowledged += len(p.Accepted)
	for _, r := range p.Refused {
		more(&c.refused, r.Code)
	}
	if p.Problem != "" {
		more(&c.pushes, p.Problem)
	}
}

func (c *counts) request(status int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	more(&c.requests, status)
}

func more[K comparable](counts *map[K]int, key K) {
	if *counts == nil {
		*counts = map[K]int{}
	}
	(*counts)[key]++
}

// Metrics returns what the server has done since it started.
func (s *Server) Metrics() []metrics.Metric {
	c := &s.counts
	c.mu.Lock()
	defer c.mu.Unlock()
	byCode := func(counts map[string]int) (samples []metrics.Sample) {
		for _, code := range wire.Codes() {
			samples = append(samples, metrics.Sample{Value: code, Number: float64(counts[code])})
		}
		return samples
	}
	var byStatus []metrics.Sample
	for _, status := range slices.Sorted(maps.Keys(c.requests)) {
		byStatus = append(byStatus, metrics.Sample{Value: strconv.Itoa(status),
			Number: float64(c.requests[status])})
	}
	return []metrics.Metric{
		metrics.One("evenhold_operations_acknowledged_total", metrics.Counter,
			"Operations of phones that are on the disk and were acknowledged.",
			float64(c.acknowledged)),
		{Name: "evenhold_operations_refused_total", Kind: metrics.Counter, Label: "code",
			Help: "Operations of phones that were refused, by reason; future: the phone's clock is" +
				" far ahead.", Samples: byCode(c.refused)},
		{Name: "evenhold_pushes_refused_total", Kind: metrics.Counter, Label: "code",
			Help:    "Pushes that were refused as a whole, by reason; forked: a copy of a phone wrote.",
			Samples: byCode(c.pushes)},
		{Name: "evenhold_requests_total", Kind: metrics.Counter, Label: "status",
			Help: "Requests answered, by HTTP status.", Samples: byStatus},
		metrics.One("evenhold_requests_shed_total", metrics.Counter,
			"Requests turned away because too many were being worked on.",
			float64(s.turns.shed.Load())),
		metrics.One("evenhold_requests_in_work", metrics.Gauge, "Requests being worked on.",
			float64(len(s.turns.places))),
		metrics.One("evenhold_sockets", metrics.Gauge, "Open sockets of phones.",
			float64(s.Hub.Len())),
		metrics.One("evenhold_sockets_dropped_total", metrics.Counter,
			"Sockets cut off because their phones took nothing in.",
			float64(s.Hub.Dropped())),
	}
}
