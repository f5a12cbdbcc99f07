package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/netip"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
)

// passing is a proxy that passes everything on, as nginx.conf does.
func passing(t *testing.T, server string) *httputil.ReverseProxy {
	t.Helper()
	to, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	return httputil.NewSingleHostReverseProxy(to)
}

// inFront starts a TLS server with the certificate of a folder and returns where it listens.
func inFront(t *testing.T, folder string, h http.Handler) string {
	t.Helper()
	pair, err := tls.LoadX509KeyPair(filepath.Join(folder, "chain.pem"),
		filepath.Join(folder, "key.pem"))
	if err != nil {
		t.Fatal(err)
	}
	front := httptest.NewUnstartedServer(h)
	front.TLS = &tls.Config{Certificates: []tls.Certificate{pair}}
	front.Config.ErrorLog = log.New(io.Discard, "", 0) // what it refuses, it refuses on purpose
	front.StartTLS()
	t.Cleanup(front.Close)
	return strings.TrimPrefix(front.URL, "https://")
}

// street of a test: every name leads to one place, and every connection to one listener.
func testStreet(leads, listener string, roots *x509.CertPool) street {
	return street{roots: roots,
		lookup: func(_ context.Context, _, host string) ([]netip.Addr, error) {
			if leads == "" {
				return nil, errors.New("no such host")
			}
			return []netip.Addr{netip.MustParseAddr(leads)}, nil
		},
		dial: func(ctx context.Context, network, _ string) (net.Conn, error) {
			return new(net.Dialer).DialContext(ctx, network, listener)
		},
		own: func() ([]net.Addr, error) {
			return []net.Addr{&net.IPNet{IP: net.IPv4(192, 0, 2, 1), Mask: net.CIDRMask(24, 32)}}, nil
		}}
}

// looks are what is not well, each as "about: advice".
func looks(t *testing.T, st street, data string, args ...string) (bad []string, all string) {
	t.Helper()
	o, err := parseOptions(append(args, "--data", data), noEnv, io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range st.look(t.Context(), o) {
		all += f.about + ": " + f.advice + "\n"
		if f.advice != "" {
			bad = append(bad, f.about+": "+f.advice)
		}
	}
	return bad, all
}

// wayFault is one thing that stands wrong between phones and the server.
type wayFault struct {
	about, advice string
	front         func(w http.ResponseWriter, r *http.Request, pass http.Handler)
}

var wayFaults = []wayFault{
	{"", "", func(w http.ResponseWriter, r *http.Request, pass http.Handler) {
		r.Host = "changed.example" // which the server does not go by
		pass.ServeHTTP(w, r)
	}},
	{"way of phones", "leads on to https://www.practice.example/readyz",
		func(w http.ResponseWriter, r *http.Request, _ http.Handler) {
			http.Redirect(w, r, "https://www.practice.example"+r.URL.Path, http.StatusMovedPermanently)
		}},
	{"way of phones", "something else answers there (200)",
		func(w http.ResponseWriter, _ *http.Request, _ http.Handler) { fmt.Fprint(w, "Welcome") }},
	{"way of phones", "something else answers there (502)",
		func(w http.ResponseWriter, _ *http.Request, _ http.Handler) { w.WriteHeader(502) }},
	{"websockets", "does not pass websockets on as they are (400)",
		func(w http.ResponseWriter, r *http.Request, pass http.Handler) {
			r.Header.Del("Upgrade")
			pass.ServeHTTP(w, r)
		}},
	{"websockets", "does not pass websockets on as they are (403)",
		func(w http.ResponseWriter, r *http.Request, pass http.Handler) {
			if r.Header.Get("Origin") != "" {
				r.Header.Set("Origin", "http://127.0.0.1:8420")
			}
			pass.ServeHTTP(w, r)
		}},
	{"websockets", "refuses requests of 1 MB",
		func(w http.ResponseWriter, r *http.Request, pass http.Handler) {
			if r.ContentLength > 500_000 {
				w.WriteHeader(http.StatusRequestEntityTooLarge)
				return
			}
			pass.ServeHTTP(w, r)
		}},
}

// TestDoctor_WayIn puts one thing wrong at a time between phones and a server behind a proxy: the
// doctor names it and nothing else. What is well, it says so of.
func TestDoctor_WayIn(t *testing.T) {
	folder, data := t.TempDir(), filepath.Join(t.TempDir(), "data")
	said := []string{"--public-url", proxied, "--trusted-proxy", "127.0.0.1"}
	r := start(t, data, said...)
	roots := certify(t, folder)
	pass := passing(t, r.url())
	for _, tt := range wayFaults {
		front := inFront(t, folder, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			tt.front(w, r, pass)
		}))
		bad, all := looks(t, testStreet("192.0.2.1", front, roots), data, said...)
		if tt.about == "" && (len(bad) != 0 || !strings.Contains(all, "leads to this machine") ||
			strings.Count(all, "\n") != 4) {
			t.Errorf("all is well, but:\n%s", all)
		}
		if tt.about != "" && (len(bad) != 1 || !strings.HasPrefix(bad[0], tt.about) ||
			!strings.Contains(bad[0], tt.advice)) {
			t.Errorf("%s, %s: %q", tt.about, tt.advice, bad)
		}
	}
	well := inFront(t, folder, pass)
	for _, tt := range []struct {
		leads, listener string
		roots           *x509.CertPool
		args            []string
		advice, all     string
	}{
		{"", well, roots, said, "name practice.example: is not known from here", ""},
		{"198.51.100.7", well, roots, said, "", "leads to 198.51.100.7, which has to pass it on"},
		{"127.0.1.1", well, roots, said, "", "is not to be seen from here"},
		{"192.0.2.1", well, x509.NewCertPool(), said, "phones do not trust what answers there", ""},
		{"192.0.2.1", well, roots, []string{"--public-url", "https://other.example",
			"--trusted-proxy", "127.0.0.1"}, "not other.example", ""},
		{"192.0.2.1", "127.0.0.1:1", roots, said, "nothing answers there", ""},
		{"192.0.2.1", well, roots, said[:2], "name its address with --trusted-proxy", ""},
		{"192.0.2.1", well, roots, []string{"--public-url", "http://localhost:8420"}, "",
			"for this machine alone"},
	} {
		bad, all := looks(t, testStreet(tt.leads, tt.listener, tt.roots), data, tt.args...)
		if tt.advice == "" && len(bad) != 0 || !strings.Contains(all, tt.all) ||
			tt.advice != "" && (len(bad) != 1 || !strings.Contains(bad[0], tt.advice)) {
			t.Errorf("%q %q:\n%s", tt.advice, tt.all, all)
		}
	}
}

// TestDoctor_WayInOwn: with an authority of the practice's own the certificate is judged by that
// authority alone, also where only phones can look the name up; and a server that listens for its
// own machine is told of.
func TestDoctor_WayInOwn(t *testing.T) {
	data, other := filepath.Join(t.TempDir(), "data"), filepath.Join(t.TempDir(), "other")
	said := []string{"--tls", "own", "--public-url", "https://practice.local:8420",
		"--plain-addr", "127.0.0.1:0"}
	r, elsewhere := start(t, data, append(said, "--addr", ":0")...), start(t, other, said...)
	address := strings.TrimPrefix(r.url(), "http://")
	wrong := strings.TrimPrefix(elsewhere.url(), "http://")
	_, port, err := net.SplitHostPort(address)
	if err != nil {
		t.Fatal(err)
	}
	right := net.JoinHostPort("127.0.0.1", port)
	for _, tt := range []struct{ data, leads, listener, advice, all string }{
		{data, "192.0.2.1", right, "", "websockets"},
		{data, "", right, "", "its certificate only"},
		{data, "192.0.2.1", wrong, "has not the practice's own authority", ""},
		{data, "198.51.100.7", right, "for its own network", ""},
		{other, "192.0.2.1", wrong, "which no phone reaches", ""},
	} {
		bad, all := looks(t, testStreet(tt.leads, tt.listener, nil), tt.data, said...)
		if tt.advice == "" && len(bad) != 0 || !strings.Contains(all, tt.all) ||
			tt.advice != "" && (len(bad) != 1 || !strings.Contains(bad[0], tt.advice)) {
			t.Errorf("%q %q:\n%s", tt.advice, tt.all, all)
		}
	}
}
