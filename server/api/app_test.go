package api

import (
	"net/http"
	"strings"
	"testing"

	"evenhold/sync/record"
)

// TestHeaders: every answer carries them, whatever its kind: "Content Security Policy Level 3",
// "Trusted Types" and "Permissions Policy", W3C; "Fetch", WHATWG, nosniff.
func TestHeaders(t *testing.T) {
	h := build(t, "")
	paths := []string{"/", "/anything", "/sw.js", "/assets/core-1a2b3c4d.wasm", "/none.js", "/api/x"}
	for _, row := range h.server.routes() {
		paths = append(paths, row.path)
	}
	for _, path := range paths {
		for _, method := range []string{http.MethodGet, http.MethodPost} {
			a := h.ask(method, path, nil, "Accept", "text/html")
			for name, want := range map[string]string{
				"Content-Security-Policy": "frame-ancestors 'none'", "X-Content-Type-Options": "nosniff",
				"Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin",
				"Permissions-Policy": "screen-wake-lock=(self)", "X-Request-Id": "",
			} {
				got, found := a.header[http.CanonicalHeaderKey(name)]
				if !found || !strings.Contains(got[0], want) {
					t.Errorf("%s %s: %s is %q, want %q in it", method, path, name, got, want)
				}
			}
			if isInterface(path) && a.header.Get("Cache-Control") != "no-store" {
				t.Errorf("%s %s may be stored: %q", method, path, a.header.Get("Cache-Control"))
			}
			if a.header.Get("Strict-Transport-Security") != "" {
				t.Errorf("%s %s demands https for good", method, path)
			}
		}
	}
	for _, want := range []string{"default-src 'none'", "script-src 'self' 'wasm-unsafe-eval'",
		"worker-src 'self'", "base-uri 'none'", "object-src 'none'", "form-action 'self'",
		"require-trusted-types-for 'script'", "trusted-types evenhold"} {
		if !strings.Contains(policy, want) {
			t.Errorf("the policy lacks %q", want)
		}
	}
	for _, never := range []string{"'unsafe-inline'", "'unsafe-eval'", "*", "http:"} {
		if strings.Contains(policy, never) {
			t.Errorf("the policy has %q", never)
		}
	}
}

// TestApp_Encodings: "HTTP Semantics", RFC 9110, 2022, section 12.5.3: a coding is acceptable
// if it is listed with a weight that is not 0.
func TestApp_Encodings(t *testing.T) {
	h := build(t, "")
	tests := []struct{ accept, coding, body string }{
		{"", "", "<!doctype html><title>page</title>"},
		{"gzip, deflate, br, zstd", "br", "page in brotli"},
		{"gzip", "gzip", "page in gzip"},
		{"br;q=0, gzip;q=0.5", "gzip", "page in gzip"},
		{"br;q=0.000,gzip;q=0", "", "<!doctype html><title>page</title>"},
		{"BR", "br", "page in brotli"},
		{"brotli", "", "<!doctype html><title>page</title>"},
	}
	for _, tt := range tests {
		a := h.ask(http.MethodGet, "/index.html", nil, "Accept-Encoding", tt.accept)
		if a.status != http.StatusOK || a.header.Get("Content-Encoding") != tt.coding ||
			string(a.body) != tt.body || a.header.Get("Vary") != "Accept-Encoding" ||
			a.header.Get("Content-Type") != "text/html; charset=utf-8" {
			t.Errorf("Accept-Encoding %q: %d %v %q", tt.accept, a.status, a.header, a.body)
		}
		again := h.ask(http.MethodGet, "/index.html", nil, "Accept-Encoding", tt.accept,
			"If-None-Match", a.header.Get("ETag"))
		if again.status != http.StatusNotModified {
			t.Errorf("Accept-Encoding %q, asked again: %d, want 304", tt.accept, again.status)
		}
	}
}

func TestApp_CachingAndTypes(t *testing.T) {
	h := build(t, "")
	const forever = "public, max-age=31536000, immutable"
	tests := []struct{ path, cache, mediaType string }{
		{"/index.html", "no-cache", "text/html; charset=utf-8"},
		{"/sw.js", "no-cache", "text/javascript; charset=utf-8"},
		{"/manifest.webmanifest", "no-cache", "application/manifest+json"},
		{"/assets/core-1a2b3c4d.wasm", forever, "application/wasm"},
		{"/assets/page-9f8e7d6c.js", forever, "text/javascript; charset=utf-8"},
	}
	for _, tt := range tests {
		a := h.ask(http.MethodGet, tt.path, nil)
		if a.status != http.StatusOK || a.header.Get("Cache-Control") != tt.cache ||
			a.header.Get("Content-Type") != tt.mediaType {
			t.Errorf("%s: %d, cache %q, type %q", tt.path, a.status, a.header.Get("Cache-Control"),
				a.header.Get("Content-Type"))
		}
	}
}

// TestApp_Navigation: an address a person opens is the app's own; a file that is not there, a
// twin of one, and a path out of the folder are not found.
func TestApp_Navigation(t *testing.T) {
	h := build(t, "")
	const browser = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"
	for _, path := range []string{"/", "/join", "/clients/7/test", "/index.html"} {
		a := h.ask(http.MethodGet, path, nil, "Accept", browser)
		if a.status != http.StatusOK || !strings.Contains(string(a.body), "page") ||
			a.header.Get("Cache-Control") != "no-cache" {
			t.Errorf("%s: %d %q", path, a.status, a.body)
		}
	}
	for _, path := range []string{"/assets/none.js", "/index.html.br", "/%2e%2e/go.mod", "/.keep"} {
		if a := h.ask(http.MethodGet, path, nil, "Accept", "*/*"); a.status != http.StatusNotFound {
			t.Errorf("%s: %d, want 404", path, a.status)
		}
	}
	if a := h.ask(http.MethodHead, "/sw.js", nil); a.status != http.StatusOK || len(a.body) != 0 {
		t.Errorf("HEAD: %d %q", a.status, a.body)
	}
	if a := h.ask(http.MethodPost, "/sw.js", nil); a.status != http.StatusMethodNotAllowed {
		t.Errorf("POST to a file: %d", a.status)
	}
}

func TestHealth(t *testing.T) {
	h := build(t, "")
	for _, path := range []string{"/livez", "/readyz"} {
		if a := h.ask(http.MethodGet, path, nil); a.status != http.StatusOK ||
			string(a.body) != `{"status":"ok"}` {
			t.Errorf("%s: %d %s", path, a.status, a.body)
		}
	}
	close(h.closing)
	if a := h.ask(http.MethodGet, "/readyz", nil); a.status != http.StatusServiceUnavailable {
		t.Errorf("ready while stopping: %d", a.status)
	}
	if a := h.ask(http.MethodGet, "/livez", nil); a.status != http.StatusOK {
		t.Errorf("alive while stopping: %d", a.status)
	}
}

// TestLog: a line for each request, with a number that the answer carries too, and nothing that
// a person wrote, is called or proves who they are with.
func TestLog(t *testing.T) {
	h := build(t, "")
	owner := h.owner(1)
	doc := owner.newClient("Alex SECRETNAME")
	owner.create(doc, "session", "note", record.Text("NOTE-SECRET-42"))
	owner.sync()
	h.ask(http.MethodGet, "/clients/Alex-SECRETPATH?x=SECRETQUERY", nil, "Accept", "text/html",
		"Referer", "https://SECRETREFERER.example", "User-Agent", "SECRETAGENT")
	a := h.ask("SECRETMETHOD", "/", nil)
	log := h.log.String()
	if !strings.Contains(log, "request="+a.header.Get("X-Request-Id")) ||
		!strings.Contains(log, "route=\"POST /api/sync\"") {
		t.Errorf("the log lacks what happened:\n%s", log)
	}
	for _, secret := range []string{"SECRET", owner.access, owner.cookie[len(cookieName)+1:],
		"127.0.0.1", "Robin", "Example Practice"} {
		if strings.Contains(log, secret) {
			t.Errorf("the log has %q", secret)
		}
	}
}

// TestPanic_IsAnswered: one bad request does not end the server, and says nothing of its inside.
func TestPanic_IsAnswered(t *testing.T) {
	h := build(t, "")
	handler := h.server.recovered(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
		panic("INSIDE")
	}))
	w := &collected{header: http.Header{}}
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil)
	if err != nil {
		t.Fatal(err)
	}
	handler.ServeHTTP(w, r)
	if w.status != http.StatusInternalServerError || strings.Contains(string(w.body), "INSIDE") {
		t.Errorf("%d %s", w.status, w.body)
	}
}

type collected struct {
	header http.Header
	status int
	body   []byte
}

func (c *collected) Header() http.Header    { return c.header }
func (c *collected) WriteHeader(status int) { c.status = status }
func (c *collected) Write(b []byte) (int, error) {
	c.body = append(c.body, b...)
	return len(b), nil
}
