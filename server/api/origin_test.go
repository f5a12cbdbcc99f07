package api

import (
	"errors"
	"net/http"
	"strings"
	"testing"

	"github.com/gorilla/websocket"
)

func TestNewOrigins(t *testing.T) {
	for _, bad := range []string{"*", "https://*", "https://practice.example*", "h*", "https://a,",
		",https://a.example", "https://a.example,,https://b.example", " ", "null", "a.example",
		"https://a.example/path", "https://a.example/", "https://A.example", "https://a.example.",
		"https://a.example:443", "http://a.example:80", "ftp://a.example", "https://u@a.example",
		"https://a.example?x", "https://a.example#x", "https://"} {
		if _, err := NewOrigins(public, bad); !errors.Is(err, ErrAddress) {
			t.Errorf("origins %q: %v, want %v", bad, err, ErrAddress)
		}
		if bad == "https://a.example/" {
			continue // one slash at the end of the public URL is no path
		}
		if _, err := NewOrigins(bad, ""); !errors.Is(err, ErrAddress) {
			t.Errorf("public URL %q: %v, want %v", bad, err, ErrAddress)
		}
	}
	o, err := NewOrigins("http://localhost:8420/", "https://a.example, https://b.example:8443")
	if err != nil || o.Public() != "http://localhost:8420" || len(o.others()) != 2 {
		t.Errorf("%+v, %v", o, err)
	}
	for text, isSecure := range map[string]bool{"http://localhost:8420": true,
		"http://127.0.0.1:8420": true, "http://[::1]:1": true, "https://practice.example": true,
		"http://clinic.home.arpa": false, "http://localhost.evil.test": false,
		"http://192.168.1.5:8420": false} {
		if o, err := NewOrigins(text, ""); err != nil || o.IsSecure() != isSecure {
			t.Errorf("%s: secure %v, %v; want %v", text, o.IsSecure(), err, isSecure)
		}
	}
}

// origins that are not the public one, though each looks like it to a careless check.
var strangers = []string{"null", "http://practice.example", "https://practice.example.",
	"https://practice.example.evil.test", "https://evilpractice.example",
	"https://practice.example:8443", "HTTPS://PRACTICE.EXAMPLE", "https://sub.practice.example",
	"https://evil.test", ""}

// TestOrigin_Socket: RFC 6455, 2011, section 10.2: a server that is not meant for any page
// checks the Origin.
func TestOrigin_Socket(t *testing.T) {
	h := build(t, "https://other.example")
	dial := func(header http.Header) int {
		conn, resp, err := websocket.DefaultDialer.Dial(
			"ws"+strings.TrimPrefix(h.url, "http")+"/api/live", header)
		if err == nil {
			defer conn.Close()
		}
		return resp.StatusCode
	}
	for _, from := range []string{public, "https://other.example"} {
		if got := dial(http.Header{"Origin": {from}}); got != http.StatusSwitchingProtocols {
			t.Errorf("origin %q: %d, want 101", from, got)
		}
	}
	if got := dial(nil); got != http.StatusSwitchingProtocols {
		t.Errorf("no origin, which is no browser: %d, want 101", got)
	}
	for _, from := range strangers {
		if got := dial(http.Header{"Origin": {from}}); got != http.StatusForbidden {
			t.Errorf("origin %q: %d, want 403", from, got)
		}
	}
	if got := dial(http.Header{"Origin": {public, "https://evil.test"}}); got != 403 {
		t.Errorf("two origins: %d, want 403", got)
	}
}

// TestOrigin_CrossSite: "Fetch Metadata Request Headers", W3C: a browser says where a request
// comes from, and a page cannot change it.
func TestOrigin_CrossSite(t *testing.T) {
	h := build(t, "")
	ask := func(header ...string) answer {
		return h.post("/api/join/look", object{"code": "x"}, header...)
	}
	for _, site := range []string{"cross-site", "same-site"} {
		if a := ask("Sec-Fetch-Site", site); a.status != http.StatusForbidden ||
			a.code(t) != "origin" {
			t.Errorf("Sec-Fetch-Site %s: %d %s", site, a.status, a.body)
		}
	}
	for _, from := range strangers {
		if from == "" {
			continue
		}
		if a := ask("Origin", from); a.status != http.StatusForbidden {
			t.Errorf("origin %q: %d, want 403", from, a.status)
		}
	}
	for _, header := range [][]string{{}, {"Sec-Fetch-Site", "same-origin"}, {"Origin", public},
		{"Origin", public, "Sec-Fetch-Site", "cross-site"}} {
		if a := ask(header...); a.status != http.StatusNotFound {
			t.Errorf("%q: %d, want 404 for the code", header, a.status)
		}
	}
}

// TestOrigin_CORS: no page but the listed ones may read answers ("Fetch", WHATWG, CORS
// protocol), and none at all unless some are listed.
func TestOrigin_CORS(t *testing.T) {
	closed, opened := build(t, ""), build(t, "https://other.example")
	preflight := []string{"Access-Control-Request-Method", "POST",
		"Access-Control-Request-Headers", "authorization,content-type"}
	for _, from := range append(strangers, public, "https://other.example",
		"https://other.example.evil.test", "https://other.exampleX") {
		if from == "" {
			continue
		}
		headers := append([]string{"Origin", from}, preflight...)
		for name, h := range map[string]*house{"closed": closed, "opened": opened} {
			a := h.ask(http.MethodOptions, "/api/sync", nil, headers...)
			want := ""
			if name == "opened" && from == "https://other.example" {
				want = from
			}
			if got := a.header.Get("Access-Control-Allow-Origin"); got != want {
				t.Errorf("%s, from %s: allowed %q, want %q", name, from, got, want)
			}
		}
	}
}
