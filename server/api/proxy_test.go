package api

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"
)

// TestProxy_Address: whoever is no trusted proxy cannot say where a request comes
// from; behind one, only what the proxies themselves have seen counts. Addresses
// are of the ranges for documentation: RFC 5737 (2010) and RFC 3849 (2004).
func TestProxy_Address(t *testing.T) {
	tests := []struct {
		name, proxies, peer string
		sent                []string
		want                string
	}{
		{"no proxy, no header", "", "192.0.2.7:5000", nil, "192.0.2.7"},
		{"spoofed without a proxy", "", "127.0.0.1:5000", []string{"203.0.113.9"}, "127.0.0.1"},
		{"spoofed past the proxy", "10.0.0.1", "192.0.2.7:5000", []string{"203.0.113.9"}, "192.0.2.7"},
		{"behind the proxy", "127.0.0.1", "127.0.0.1:5000", []string{"203.0.113.9"}, "203.0.113.9"},
		{"the client's own header first", "127.0.0.1", "127.0.0.1:5000",
			[]string{"198.51.100.1, 203.0.113.9"}, "203.0.113.9"},
		{"two headers are one list", "127.0.0.1", "127.0.0.1:5000",
			[]string{"198.51.100.1", "203.0.113.9"}, "203.0.113.9"},
		{"two proxies", "127.0.0.1,10.0.0.0/8", "127.0.0.1:5000",
			[]string{"198.51.100.1, 203.0.113.9, 10.1.2.3"}, "203.0.113.9"},
		{"a proxy that says nothing", "127.0.0.1", "127.0.0.1:5000", nil, "127.0.0.1"},
		{"words for an address", "127.0.0.1", "127.0.0.1:5000", []string{"203.0.113.9, unknown"},
			"127.0.0.1"},
		{"the next version", "::1", "[::1]:5000", []string{"2001:db8::9"}, "2001:db8::9"},
		{"an old address in the new form", "127.0.0.1", "[::ffff:127.0.0.1]:5000",
			[]string{"203.0.113.9"}, "203.0.113.9"},
		{"a peer that cannot be read", "127.0.0.1", "@", []string{"203.0.113.9"}, ""},
	}
	for _, tt := range tests {
		proxies, err := ParseProxies(tt.proxies)
		if err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		r := httptest.NewRequest(http.MethodPost, "/api/join", nil)
		r.RemoteAddr = tt.peer
		for _, one := range tt.sent {
			r.Header.Add("X-Forwarded-For", one)
		}
		s := &Server{Config: Config{Proxies: proxies}}
		if got := s.address(r); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

// TestProxy_SpoofedIsSlowed: who invents a new address for each guess is slowed down all the same.
func TestProxy_SpoofedIsSlowed(t *testing.T) {
	h := build(t, "")
	h.owner(1)
	last := answer{}
	for guess := range 100 {
		last = h.post("/api/join", object{"code": "BCDF-GHJK-LMNP", "device": "0000000000009"},
			"X-Forwarded-For", fmt.Sprintf("203.0.113.%d", guess), "X-Real-Ip", "203.0.113.7",
			"Forwarded", fmt.Sprintf("for=203.0.113.%d", guess))
	}
	if last.status != http.StatusTooManyRequests {
		t.Errorf("the hundredth guess: %d, want 429", last.status)
	}
}

func TestParseProxies(t *testing.T) {
	for _, bad := range []string{"*", "localhost", "10.0.0.0/99", "10.0.0.1,", "10.0.0.1:80"} {
		if got, err := ParseProxies(bad); !errors.Is(err, ErrAddress) {
			t.Errorf("%q: %v, %v", bad, got, err)
		}
	}
}

// TestHeaders_Strict: browsers are told to insist on https only where that cannot lock them out.
func TestHeaders_Strict(t *testing.T) {
	for _, strict := range []bool{true, false} {
		w := httptest.NewRecorder()
		withHeaders(http.NotFoundHandler(), strict).ServeHTTP(w,
			httptest.NewRequest(http.MethodGet, "/", nil))
		if got := w.Header().Get("Strict-Transport-Security"); (got == "max-age=31536000") != strict {
			t.Errorf("strict %v: %q", strict, got)
		}
	}
}
