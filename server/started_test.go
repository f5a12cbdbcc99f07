package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestStarted_CommandsFollowTheServer: who started the server with flags need not repeat them for
// the commands beside it; what is said still goes before, and another start writes it anew.
func TestStarted_CommandsFollowTheServer(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	copies := filepath.Join(t.TempDir(), "copies")
	r := start(t, data, "--public-url", "https://practice.example", "--backups", copies)
	r.url()
	join(t, r, r.out.String(), 0x1111, nowMS())
	if text := must(t, data, "invite", "--role", "owner"); !strings.Contains(text,
		"https://practice.example/join#") {
		t.Errorf("the link is not one that phones can open:\n%s", text)
	}
	elsewhere := must(t, data, "invite", "--role", "owner", "--public-url", "https://other.example")
	if !strings.Contains(elsewhere, "https://other.example/join#") {
		t.Errorf("a flag does not go before:\n%s", elsewhere)
	}
	if text := must(t, data, "backup"); !strings.HasPrefix(text, copies) {
		t.Errorf("the backup is not among the server's own: %s", text)
	}
	if text := must(t, data, "doctor"); !strings.Contains(text, "https://practice.example") ||
		!strings.Contains(text, "well  server") {
		t.Errorf("doctor looks elsewhere:\n%s", text)
	}
	r.end()
	r = start(t, data)
	r.url()
	if text := must(t, data, "invite", "--role", "owner"); strings.Contains(text, "practice.example") {
		t.Errorf("a later start is not followed:\n%s", text)
	}
	r.end()
	info, err := os.Stat(filepath.Join(data, startedName))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v %v", info, err)
	}
}
