package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestHealth: a server that takes work in is well; one that is not there, that does not take work
// in or does not answer is not, and the exit code says so.
func TestHealth(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data, "--tls", "own", "--plain-addr", "127.0.0.1:0", "--public-url",
		"https://practice.home.arpa:8420")
	r.url()
	if text := must(t, data, "health"); text != "The server takes work in.\n" {
		t.Errorf("with a certificate of its own: %s", text)
	}
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	for _, tt := range []struct {
		says string
		code int
		pose func()
	}{
		{"does not run", exitFaults, func() {}},
		{"is not ready (503)", exitFaults, func() { pose(t, data, 503, time.Now()) }},
		{"The server takes", exitOK, func() { pose(t, data, 200, time.Now()) }},
		{"does not answer; loo", exitFaults, func() { put(t, data, addressName, "127.0.0.1:1\n") }},
	} {
		tt.pose()
		code, text := told(t, data, "health", "--tls", "off")
		if !strings.Contains(text, tt.says) || code != tt.code {
			t.Errorf("want %q and %d: %d %s", tt.says, tt.code, code, text)
		}
		_ = os.Remove(filepath.Join(data, addressName)) // there may be none
	}
}
