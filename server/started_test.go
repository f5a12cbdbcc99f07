package main

import (
	"os"
	"path/filepath"
	"slices"
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
	if _, text := told(t, data, "doctor"); !strings.Contains(text, "https://practice.example") ||
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

// TestStarted_FilesAreFoundFromElsewhere: what names a file or a folder is written down whole, for
// a command may be called in another folder than the server was.
func TestStarted_FilesAreFoundFromElsewhere(t *testing.T) {
	f := &folder{path: t.TempDir()}
	given := said{"data": f.path, "tls": tlsFile, "plain-addr": ":8421"}
	for _, name := range pathSettings {
		given[name] = filepath.Join("some", name)
	}
	if err := given.keepStarted(f); err != nil {
		t.Fatal(err)
	}
	kept, err := readSettings(f.file(startedName))
	if err != nil || len(kept) != 1+len(pathSettings) || kept["tls"] != tlsFile {
		t.Fatalf("%v, %v; want what is given and no default", kept, err)
	}
	for _, s := range settings {
		isPath := strings.Contains(s.use, "`file`") || strings.Contains(s.use, "`folder`")
		if value, is := kept[s.name]; is && isPath != filepath.IsAbs(value) {
			t.Errorf("%s is kept as %q", s.name, value)
		}
	}
	for _, name := range doorSettings {
		at := slices.IndexFunc(settings, func(s setting) bool { return s.name == name })
		if strings.Contains(settings[at].use, "`file`") && !slices.Contains(pathSettings, name) {
			t.Errorf("%s names a file and is not kept whole", name)
		}
	}
}
