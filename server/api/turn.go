package api

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"sync/atomic"

	"evenhold/server/store"
)

// atOnce is how many requests are worked on together; our own choice. One writes at a time, so on
// a disk that takes a tenth of a second for each write the last of them waits for three seconds,
// where a phone gives up after thirty.
const atOnce = 32

// turns bounds the work that has been begun: who comes when all places are taken is told at once
// when to come back, before a queue grows in which everybody waits too long.
type turns struct {
	places chan struct{}
	shed   atomic.Int64
}

func newTurns() turns { return turns{places: make(chan struct{}, atOnce)} }

// take takes a place, or returns store.ErrBusy; leave gives it back.
func (t *turns) take() (leave func(), err error) {
	select {
	case t.places <- struct{}{}:
		return func() { <-t.places }, nil
	default:
		t.shed.Add(1)
		return nil, fmt.Errorf("%w: %d requests are being worked on", store.ErrBusy, atOnce)
	}
}

// inTurn handles a request in a place of its own. A slow line holds none: the body is read before
// and the answer written after.
func (s *Server) inTurn(
	w http.ResponseWriter, r *http.Request, caller store.Member, row route,
) error {
	if row.body != "" {
		body, err := readBody(w, r, bodyBytes[row.body])
		if err != nil {
			return err
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
	}
	held := &heldAnswer{ResponseWriter: w}
	if err := s.work(held, r, caller, row); err != nil {
		return err
	}
	held.send()
	return nil
}

// work gives its place back even if the handler panics.
func (s *Server) work(
	w http.ResponseWriter, r *http.Request, caller store.Member, row route,
) error {
	leave, err := s.turns.take()
	if err != nil {
		return err
	}
	defer leave()
	return row.handle(w, r, caller)
}

// heldAnswer keeps status and body until send.
type heldAnswer struct {
	http.ResponseWriter
	status int
	body   bytes.Buffer
}

func (h *heldAnswer) WriteHeader(status int) { h.status = status }

func (h *heldAnswer) Write(b []byte) (int, error) { return h.body.Write(b) }

func (h *heldAnswer) send() {
	if h.status != 0 {
		h.ResponseWriter.WriteHeader(h.status)
	}
	_, _ = h.body.WriteTo(h.ResponseWriter) // who has hung up asks again
}
