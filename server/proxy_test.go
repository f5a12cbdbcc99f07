package main

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"errors"
	"flag"
	"fmt"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"evenhold/sync/wire"
)

const proxied = "https://practice.example"

var silence = flag.Duration("server.silence", 0, "how long a socket through a proxy is silent")

// certify writes a certificate for the proxied name and returns who trusts it.
func certify(t *testing.T, folder string) *x509.CertPool {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	made := &x509.Certificate{SerialNumber: big.NewInt(1), DNSNames: []string{"practice.example"},
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore:   time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true,
		BasicConstraintsValid: true}
	der, err := x509.CreateCertificate(rand.Reader, made, made, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	for name, block := range map[string]*pem.Block{"chain.pem": {Type: "CERTIFICATE", Bytes: der},
		"key.pem": {Type: "PRIVATE KEY", Bytes: secret}} {
		err := os.WriteFile(filepath.Join(folder, name), pem.EncodeToMemory(block), 0o600)
		if err != nil {
			t.Fatal(err)
		}
	}
	roots := x509.NewCertPool()
	roots.AppendCertsFromPEM(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}))
	return roots
}

// visitor reaches the proxied name from a loopback address of its own, as a browser of that site.
type visitor struct {
	t      *testing.T
	dialer websocket.Dialer
	client http.Client
}

func newVisitor(t *testing.T, roots *x509.CertPool, from, proxy string) *visitor {
	dial := func(ctx context.Context, network, _ string) (net.Conn, error) {
		d := net.Dialer{LocalAddr: &net.TCPAddr{IP: net.ParseIP(from)}}
		return d.DialContext(ctx, network, proxy)
	}
	trust := &tls.Config{RootCAs: roots}
	return &visitor{t: t, dialer: websocket.Dialer{NetDialContext: dial, TLSClientConfig: trust},
		client: http.Client{Timeout: 45 * time.Second,
			Transport: &http.Transport{DialContext: dial, TLSClientConfig: trust.Clone()}}}
}

// post sends JSON or a frame; header holds further lines as name, value, name, value.
func (v *visitor) post(path, kind string, body []byte, header ...string) *http.Response {
	v.t.Helper()
	q, err := http.NewRequest(http.MethodPost, proxied+path, bytes.NewReader(body))
	if err != nil {
		v.t.Fatal(err)
	}
	q.Header.Set("Content-Type", kind)
	q.Header.Set("Origin", proxied)
	for i := 0; i < len(header); i += 2 {
		q.Header.Set(header[i], header[i+1])
	}
	resp, err := v.client.Do(q)
	if err != nil {
		v.t.Fatal(err)
	}
	v.t.Cleanup(func() { _ = resp.Body.Close() }) // it was read as far as it is of interest
	return resp
}

// field reads one text of a JSON answer.
func field(t *testing.T, resp *http.Response, name string) string {
	t.Helper()
	var v map[string]any
	if err := json.NewDecoder(resp.Body).Decode(&v); err != nil || resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %v", resp.Status, err)
	}
	text, _ := v[name].(string)
	return text
}

func TestProxy_Nginx(t *testing.T) { behind(t, nginx) }

func TestProxy_Caddy(t *testing.T) { behind(t, caddy) }

// behind: through a reverse proxy of the README phones join, sync and hear news; other sites are
// refused as without it; large bodies are judged by the server and not by the proxy; who
// guesses is told apart from others, whatever address they claim; and the doctor finds it well.
func behind(t *testing.T, proxy func(t *testing.T, folder, server string) string) {
	folder := t.TempDir()
	r := start(t, filepath.Join(t.TempDir(), "data"), "--public-url", proxied,
		"--trusted-proxy", "127.0.0.1")
	roots := certify(t, folder)
	address := proxy(t, folder, r.url())
	v := newVisitor(t, roots, "127.0.0.2", address)
	if bad, all := looks(t, testStreet("192.0.2.1", address, roots), r.data, "--public-url", proxied,
		"--trusted-proxy", "127.0.0.1"); len(bad) != 0 || !strings.Contains(all, "websockets") {
		t.Errorf("the doctor says of it:\n%s", all)
	}

	_, code, _ := strings.Cut(regexp.MustCompile(`/join#\S+`).FindString(r.out.String()), "#")
	claim := fmt.Appendf(nil, `{"code":%q,"device":"0000000000001","name":"Robin Example",`+
		`"practice":"Example Practice"}`, code)
	if resp := v.post("/api/join", "application/json", claim, "Origin", "https://evil.example",
		"Sec-Fetch-Site", "cross-site"); resp.StatusCode != http.StatusForbidden {
		t.Errorf("another site: %s", resp.Status)
	}
	joined := v.post("/api/join", "application/json", claim)
	if joined.StatusCode != http.StatusOK || len(joined.Cookies()) != 1 {
		t.Fatalf("join: %s", joined.Status)
	}
	cookie := joined.Cookies()[0]
	token := field(t, v.post("/api/token", "application/json", []byte("{}"), "Cookie",
		cookie.Name+"="+cookie.Value), "access")
	bearer := "Bearer " + token
	given := v.post("/api/ticket", "application/json", nil, "Authorization", bearer)
	ticket := field(t, given, "ticket")
	live := strings.Replace(proxied, "https", "wss", 1) + "/api/live"
	if _, _, err := v.dialer.Dial(live, http.Header{"Origin": {"https://evil.example"}}); err == nil {
		t.Error("another site opens a socket")
	}
	conn, _, err := v.dialer.Dial(live, http.Header{"Origin": {proxied}})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if err := conn.WriteMessage(websocket.TextMessage, []byte(ticket)); err != nil {
		t.Fatal(err)
	}
	if _, message, err := conn.ReadMessage(); err != nil || string(message) != `{"news":true}` {
		t.Errorf("news: %q, %v", message, err)
	}
	const frame = "application/vnd.evenhold.sync"
	// The first is answered as a frame of no known version, the second not read to its end.
	for size, want := range map[int]string{wire.MaxBodyBytes: "200 " + frame,
		wire.MaxBodyBytes + 1: "413 application/problem+json"} {
		resp := v.post("/api/sync", frame, make([]byte, size), "Authorization", bearer)
		got := fmt.Sprint(resp.StatusCode, " ", resp.Header.Get("Content-Type"))
		if got != want {
			t.Errorf("%d bytes: %s, want %s", size, got, want)
		}
	}
	guessing(t, roots, address, v)
	staysOpen(t, conn)
}

// guessing: a hundred codes by one, who claims to come from elsewhere, do not slow another down.
func guessing(t *testing.T, roots *x509.CertPool, address string, v *visitor) {
	t.Helper()
	wrong := []byte(`{"code":"BCDF-GHJK-LMNP","device":"0000000000009"}`)
	guess := 0
	for n := range 100 {
		guess = v.post("/api/join", "application/json", wrong, "X-Forwarded-For",
			fmt.Sprintf("203.0.113.%d", n)).StatusCode
	}
	other := newVisitor(t, roots, "127.0.0.3", address)
	got := other.post("/api/join", "application/json", wrong).StatusCode
	if guess != http.StatusTooManyRequests || got != http.StatusNotFound {
		t.Errorf("the hundredth guess: %d, another's first: %d; want 429 and 404", guess, got)
	}
}

// staysOpen: a socket on which nobody says anything lives on, and hears pings.
func staysOpen(t *testing.T, conn *websocket.Conn) {
	t.Helper()
	if *silence == 0 {
		return
	}
	pings := 0
	answer := conn.PingHandler()
	conn.SetPingHandler(func(text string) error { pings++; return answer(text) })
	if err := conn.SetReadDeadline(time.Now().Add(*silence)); err != nil {
		t.Fatal(err)
	}
	_, message, err := conn.ReadMessage()
	var slow net.Error
	if !errors.As(err, &slow) || !slow.Timeout() || pings == 0 {
		t.Errorf("in %v: %q, %v, %d pings; want nothing but pings", *silence, message, err, pings)
	}
}

// TestProxy_PassesOn: the server sees the name that the phone asked for, and where it asks from,
// whatever it claims.
func TestProxy_PassesOn(t *testing.T) {
	for name, proxy := range map[string]func(*testing.T, string, string) string{
		"nginx": nginx, "Caddy": caddy,
	} {
		t.Run(name, func(t *testing.T) {
			seen := make(chan string, 1)
			server := httptest.NewServer(http.HandlerFunc(
				func(_ http.ResponseWriter, r *http.Request) {
					hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
					seen <- r.Host + " " + strings.TrimSpace(hops[len(hops)-1])
				}))
			defer server.Close()
			folder := t.TempDir()
			roots := certify(t, folder)
			v := newVisitor(t, roots, "127.0.0.2", proxy(t, folder, server.URL))
			v.post("/", "application/json", nil, "X-Forwarded-For", "203.0.113.1")
			if got := <-seen; got != "practice.example 127.0.0.2" {
				t.Errorf("the server sees %q", got)
			}
		})
	}
}

// TestProxy_Settings: nginx lets a silent socket outlive the 54 seconds between two pings, and a
// folder of a site is refused with what to do, for a phone knows one address.
func TestProxy_Settings(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("proxy", "nginx.conf"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"proxy_read_timeout", "proxy_send_timeout"} {
		m := regexp.MustCompile(name + ` (\d+)s;`).FindSubmatch(text)
		if m == nil {
			t.Fatalf("there is no %s", name)
		}
		if seconds, err := strconv.Atoi(string(m[1])); err != nil || seconds < 60 {
			t.Errorf("%s is %d s, %v; want a minute or more", name, seconds, err)
		}
	}
	code, said := told(t, t.TempDir(), "serve", "--public-url", proxied+"/evenhold")
	if code != exitUsage || !strings.Contains(said, "not a usable address") ||
		!strings.Contains(said, "a folder of a site") {
		t.Errorf("a folder of a site: %d %s", code, said)
	}
}
