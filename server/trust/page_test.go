package trust

import (
	"bytes"
	"encoding/base64"
	"encoding/pem"
	"encoding/xml"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

func ask(t *testing.T, p *Page, method, path string) (*http.Response, []byte) {
	t.Helper()
	w := httptest.NewRecorder()
	p.ServeHTTP(w, httptest.NewRequest(method, path, nil))
	body, err := io.ReadAll(w.Result().Body)
	if err != nil {
		t.Fatal(err)
	}
	return w.Result(), body
}

// TestPage_ServesTheAuthority: all forms hold the very same certificate, and no key.
func TestPage_ServesTheAuthority(t *testing.T) {
	a, _ := newAuthority(t, "practice.home.arpa")
	p, err := NewPage(a, "https://practice.home.arpa:8420")
	if err != nil {
		t.Fatal(err)
	}
	resp, body := ask(t, p, http.MethodGet, "/evenhold.crt")
	block, rest := pem.Decode(body)
	if resp.Header.Get("Content-Type") != "application/x-x509-ca-cert" || block == nil ||
		!bytes.Equal(block.Bytes, a.cert.Raw) || len(rest) > 0 {
		t.Errorf("%v %s", resp.Header, body)
	}
	resp, body = ask(t, p, http.MethodGet, "/evenhold.mobileconfig")
	if resp.Header.Get("Content-Type") != "application/x-apple-aspen-config" {
		t.Errorf("profile: %v", resp.Header)
	}
	if der := profileData(t, body); !bytes.Equal(der, a.cert.Raw) {
		t.Errorf("the profile holds %d other bytes", len(der))
	}
	resp, body = ask(t, p, http.MethodGet, "/anything")
	text := strings.Join(strings.Fields(string(body)), " ")
	for _, line := range fingerprintLines(a.Fingerprint()) {
		if !strings.Contains(text, line) {
			t.Errorf("the page lacks %s", line)
		}
	}
	if resp.StatusCode != http.StatusOK || !strings.Contains(text, p.app) ||
		strings.Contains(text, "ZgotmplZ") {
		t.Errorf("%d %s", resp.StatusCode, text)
	}
}

// profileData reads the one data element of the profile, which must be whole XML.
func profileData(t *testing.T, profile []byte) []byte {
	t.Helper()
	decoder := xml.NewDecoder(bytes.NewReader(profile))
	var data []byte
	for {
		token, err := decoder.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if element, is := token.(xml.StartElement); is && element.Name.Local == "data" {
			var text string
			if err := decoder.DecodeElement(&text, &element); err != nil {
				t.Fatal(err)
			}
			if data, err = base64.StdEncoding.DecodeString(text); err != nil {
				t.Fatal(err)
			}
		}
	}
	return data
}

// TestPage_IsNoWayIn: nothing that carries a secret is taken or led on over plain http.
func TestPage_IsNoWayIn(t *testing.T) {
	a, _ := newAuthority(t)
	p, err := NewPage(a, "https://practice.home.arpa:8420")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range [][2]string{{http.MethodPost, "/"}, {http.MethodPost, "/api/join"},
		{http.MethodGet, "/api/token"}, {http.MethodPut, "/evenhold.crt"}} {
		resp, _ := ask(t, p, tt[0], tt[1])
		if resp.StatusCode != http.StatusForbidden || resp.Header.Get("Location") != "" ||
			resp.Header.Get("Set-Cookie") != "" {
			t.Errorf("%v: %d %v", tt, resp.StatusCode, resp.Header)
		}
	}
}
