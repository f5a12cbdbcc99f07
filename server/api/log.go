package api

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"net/http"
	"runtime/debug"

	"evenhold/server/store"
)

type requestKey struct{}

// requestID returns the number by which a request is found in the log.
func requestID(r *http.Request) string {
	id, _ := r.Context().Value(requestKey{}).(string)
	return id
}

// logged writes one line for each request: no address, no name, no path beyond
// the pattern that took it, for those are personal or may carry what is.
func (s *Server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		id := store.NewTag()
		r = r.WithContext(context.WithValue(r.Context(), requestKey{}, id))
		w.Header().Set("X-Request-Id", id)
		seen := &recorder{ResponseWriter: w, status: http.StatusOK}
		start := s.Now()
		next.ServeHTTP(seen, r)
		s.counts.request(seen.status)
		s.Log.InfoContext(r.Context(), "request", "request", id, "method", method(r.Method),
			"route", r.Pattern, "status", seen.status, "bytes", seen.bytes,
			"ms", s.Now().Sub(start).Milliseconds())
	})
}

// method keeps made-up methods out of the log.
func method(sent string) string {
	switch sent {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodOptions, http.MethodPut,
		http.MethodDelete, http.MethodPatch:
		return sent
	}
	return "other"
}

// recovered turns a panic into a problem answer: wrong data is worse than none,
// and one bad request must not end the server.
func (s *Server) recovered(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if fault := recover(); fault != nil {
				s.Log.ErrorContext(r.Context(), "panic", "request", requestID(r),
					"stack", string(debug.Stack()))
				s.answerProblem(w, r, fmt.Errorf("%w: panic", errTrouble))
			}
		}()
		next.ServeHTTP(w, r)
	})
}

// recorder remembers what was answered.
type recorder struct {
	http.ResponseWriter
	status int
	bytes  int64
}

func (w *recorder) WriteHeader(status int) {
	w.status = status
	w.ResponseWriter.WriteHeader(status)
}

func (w *recorder) Write(b []byte) (int, error) {
	n, err := w.ResponseWriter.Write(b)
	w.bytes += int64(n)
	return n, err
}

// Hijack hands the connection to a websocket.
func (w *recorder) Hijack() (net.Conn, *bufio.ReadWriter, error) {
	w.status = http.StatusSwitchingProtocols
	return http.NewResponseController(w.ResponseWriter).Hijack()
}

// Unwrap lets http.ResponseController reach the writer below.
func (w *recorder) Unwrap() http.ResponseWriter { return w.ResponseWriter }
