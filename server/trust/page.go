package trust

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"encoding/pem"
	"fmt"
	"html/template"
	"net/http"
	"strings"
)

// The page's files. It needs no script to be read: the script only tells when the
// phone trusts the server.
var (
	//go:embed page.html
	pageText string
	//go:embed page.css
	pageStyle []byte
	//go:embed page.js
	pageScript []byte
	//go:embed profile.xml
	profileText string
)

var (
	pageTemplate    = template.Must(template.New("page").Parse(pageText))
	profileTemplate = template.Must(template.New("profile").Parse(profileText))
)

// Page is what the server says over plain http, where nothing can be kept secret:
// what the authority is, how a phone takes it up, and nothing of the practice.
type Page struct {
	html, pem, profile []byte
	app                string
}

// NewPage returns the page that leads to the app at the origin app.
func NewPage(a *Authority, app string) (*Page, error) {
	p := &Page{app: app}
	p.pem = pem.EncodeToMemory(&pem.Block{Type: blockCert, Bytes: a.cert.Raw})
	facts := struct {
		App, Until, Name, ID, DER string
		Print                     []string
	}{
		App: app, Until: a.cert.NotAfter.Format("2006-01-02"), Name: a.cert.Subject.CommonName,
		ID: profileID(a), DER: base64.StdEncoding.EncodeToString(a.cert.Raw),
		Print: fingerprintLines(a.Fingerprint()),
	}
	var html, profile bytes.Buffer
	if err := pageTemplate.Execute(&html, facts); err != nil {
		return nil, fmt.Errorf("trust page: %w", err)
	}
	if err := profileTemplate.Execute(&profile, facts); err != nil {
		return nil, fmt.Errorf("trust profile: %w", err)
	}
	p.html = html.Bytes()
	// html/template takes an XML declaration for text and would escape it.
	p.profile = append([]byte(`<?xml version="1.0" encoding="UTF-8"?>`+"\n"), profile.Bytes()...)
	return p, nil
}

// ServeHTTP answers with the page for any address a person may type. Questions to
// the interface are refused, never led on: they would have gone over the air in the clear.
func (p *Page) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; script-src 'self';"+
		" connect-src "+p.app+"; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cache-Control", "no-store")
	switch {
	case r.Method != http.MethodGet && r.Method != http.MethodHead,
		strings.HasPrefix(r.URL.Path, "/api/"):
		http.Error(w, "This address only says how to trust the server. Nothing was done. Open "+
			p.app+" instead.", http.StatusForbidden)
	case r.URL.Path == "/evenhold.crt":
		send(w, "application/x-x509-ca-cert", p.pem)
	case r.URL.Path == "/evenhold.mobileconfig":
		send(w, "application/x-apple-aspen-config", p.profile)
	case r.URL.Path == "/page.css":
		send(w, "text/css; charset=utf-8", pageStyle)
	case r.URL.Path == "/page.js":
		send(w, "text/javascript; charset=utf-8", pageScript)
	default:
		send(w, "text/html; charset=utf-8", p.html)
	}
}

func send(w http.ResponseWriter, mediaType string, body []byte) {
	w.Header().Set("Content-Type", mediaType)
	_, _ = w.Write(body) // who has hung up need not be told
}

// fingerprintLines breaks a fingerprint where a person who compares may rest.
func fingerprintLines(print string) []string {
	pairs := strings.Split(print, ":")
	var lines []string
	for ; len(pairs) > 0; pairs = pairs[min(8, len(pairs)):] {
		lines = append(lines, strings.Join(pairs[:min(8, len(pairs))], " "))
	}
	return lines
}

// profileID makes an identifier (RFC 9562, 2024, version 8) of the authority, so that
// a profile that is taken up twice is one.
func profileID(a *Authority) string {
	hex := strings.ReplaceAll(a.Fingerprint(), ":", "")
	return fmt.Sprintf("%s-%s-8%s-8%s-%s", hex[:8], hex[8:12], hex[13:16], hex[17:20], hex[20:32])
}
