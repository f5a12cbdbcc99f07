package main

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// TestServe_OwnAuthority starts as a practice on clinic wifi would: the first run makes the
// authority and prints its page and fingerprint, and whoever trusts it gets in, also after a
// restart.
func TestServe_OwnAuthority(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	for range 2 {
		r := start(t, data, "--tls", "own", "--plain-addr", "127.0.0.1:0",
			"--public-url", "https://practice.home.arpa:8420")
		address := strings.TrimPrefix(r.url(), "http://")
		text, err := os.ReadFile(filepath.Join(data, authorityName))
		if err != nil {
			t.Fatal(err)
		}
		_, rest := pem.Decode(text)
		roots := x509.NewCertPool()
		if !roots.AppendCertsFromPEM(rest) {
			t.Fatal("there is no certificate")
		}
		client := http.Client{Transport: &http.Transport{DisableKeepAlives: true,
			TLSClientConfig: &tls.Config{RootCAs: roots, ServerName: "practice.home.arpa"}}}
		resp, err := client.Get("https://" + address + "/readyz")
		if err != nil {
			t.Fatal(err)
		}
		if err := resp.Body.Close(); err != nil || resp.StatusCode != http.StatusOK ||
			resp.Header.Get("Strict-Transport-Security") != "" {
			t.Errorf("%d %v %v", resp.StatusCode, resp.Header, err)
		}
		if _, err := http.Get("https://" + address + "/readyz"); err == nil {
			t.Error("who does not trust the authority gets in")
		}
		printed := r.out.String()
		if !strings.Contains(printed, "http://practice.home.arpa:") ||
			strings.Count(printed, ":") < 31 || !strings.Contains(printed, "https://practice.home.arpa") {
			t.Errorf("printed:\n%s", printed)
		}
		if code := r.end(); code != exitOK {
			t.Errorf("stopped with %d:\n%s", code, r.err.String())
		}
	}
}

func TestServe_AddressChanged(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	for _, tt := range []struct {
		args []string
		warn bool
	}{
		{[]string{"--public-url", "https://old.example"}, false},
		{[]string{"--public-url", "https://old.example"}, false},
		{[]string{"--public-url", "https://new.example"}, true},
		{[]string{"--public-url", "https://new.example"}, true},
		{[]string{"--public-url", "https://new.example", "--origins", "https://old.example"}, false},
	} {
		r := start(t, data, tt.args...)
		r.url()
		r.end()
		if got := strings.Contains(r.err.String(), "another public URL"); got != tt.warn {
			t.Errorf("%v: %s", tt.args, r.err.String())
		}
	}
}

func TestDoor_WarnOfEnd(t *testing.T) {
	now := time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)
	const day = 24 * time.Hour
	for _, tt := range []struct {
		life, left time.Duration
		want       string
	}{
		{90 * day, 89 * day, ""}, {90 * day, 22 * day, ""}, {90 * day, 20 * day, "ends soon"},
		{90 * day, -day, "has ended"}, {10 * 365 * day, 22 * day, ""},
		{10 * 365 * day, 20 * day, "ends soon"}, {6 * day, 2 * day, ""}, {6 * day, day, "ends soon"},
		{day, 8 * time.Hour, ""}, {day, 5 * time.Hour, "ends soon"},
	} {
		cert := &x509.Certificate{NotBefore: now.Add(tt.left - tt.life), NotAfter: now.Add(tt.left)}
		var said bytes.Buffer
		warnOfEnd(slog.New(slog.NewTextHandler(&said, nil)), cert, now)
		if got := said.String(); !strings.Contains(got, tt.want) || (got == "") != (tt.want == "") {
			t.Errorf("%v of %v left: %q", tt.left, tt.life, got)
		}
	}
}

// TestDoor_TellsEachDay looks each hour for six days, by a clock of its own: for two there is no
// certificate, for two one that is about to end, then one that is not. What is wrong is told at
// once, then once a day, and the metrics know of it within the hour.
func TestDoor_TellsEachDay(t *testing.T) {
	start := time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)
	const day = 24 * time.Hour
	var cert *x509.Certificate
	d := &door{certificate: func() (*x509.Certificate, error) {
		if cert == nil {
			return nil, errors.New("the authority does not answer")
		}
		return cert, nil
	}}
	var said bytes.Buffer
	log := slog.New(slog.NewTextHandler(&said, nil))
	var missing, ending []time.Duration
	for after := time.Duration(0); after < 6*day; after += time.Hour {
		switch after {
		case 2 * day:
			cert = &x509.Certificate{NotBefore: start.Add(-80 * day), NotAfter: start.Add(10 * day)}
		case 4 * day:
			cert = &x509.Certificate{NotBefore: start, NotAfter: start.Add(94 * day)}
		}
		said.Reset()
		d.look(log, start.Add(after))
		if strings.Contains(said.String(), "no certificate yet") {
			missing = append(missing, after)
		}
		if strings.Contains(said.String(), "ends soon") {
			ending = append(ending, after)
		}
		if end, has := d.end(); !has || cert != nil && end != cert.NotAfter ||
			cert == nil && !end.IsZero() {
			t.Errorf("after %v the end is said to be %v, %v", after, end, has)
		}
	}
	if want := []time.Duration{0, day}; !slices.Equal(missing, want) {
		t.Errorf("that there is none is told at %v, want %v", missing, want)
	}
	if want := []time.Duration{2 * day, 3 * day}; !slices.Equal(ending, want) {
		t.Errorf("its end is told at %v, want %v", ending, want)
	}
}

func TestOptions_Door(t *testing.T) {
	for _, tt := range []struct{ args, complaint string }{
		{"--tls maybe", "choose off"},
		{"--tls own --public-url http://practice.local", "with https"},
		{"--tls acme", "--public-url"},
		{"--tls acme --public-url https://a.example --acme-ca roots.pem", "--acme-directory"},
		{"--tls file --public-url https://practice.example", "--tls-cert"},
		{"--trusted-proxy everyone", "10.0.0.0/8"},
		{"--tls own --public-url https://practice.local:8420", ""},
		{"--tls file --public-url https://a.example --tls-cert c --tls-key k", ""},
		{"--tls acme --public-url https://a.example", ""},
	} {
		_, err := parseOptions(strings.Fields(tt.args), noEnv, io.Discard)
		if (err == nil) != (tt.complaint == "") ||
			err != nil && !strings.Contains(err.Error(), tt.complaint) {
			t.Errorf("%s: %v", tt.args, err)
		}
	}
}
