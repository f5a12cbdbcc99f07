package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"
)

// freeAddress is one that nobody listens on at the moment.
func freeAddress(t *testing.T) *net.TCPAddr {
	t.Helper()
	probe, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer probe.Close()
	return probe.Addr().(*net.TCPAddr)
}

// loopbackNames answers every question for an address with 127.0.0.1, as a name server over TCP
// (RFC 1035, 1987, section 4.2.2), and returns where it listens.
func loopbackNames(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close() })
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				defer conn.Close()
				for answerName(conn) == nil {
				}
			}()
		}
	}()
	return l.Addr().String()
}

func answerName(conn io.ReadWriter) error {
	var length [2]byte
	if _, err := io.ReadFull(conn, length[:]); err != nil {
		return err
	}
	asked := make([]byte, binary.BigEndian.Uint16(length[:]))
	if _, err := io.ReadFull(conn, asked); err != nil {
		return err
	}
	var m dnsmessage.Message
	if err := m.Unpack(asked); err != nil {
		return err
	}
	m.Response, m.Additionals = true, nil
	if q := m.Questions[0]; q.Type == dnsmessage.TypeA {
		m.Answers = []dnsmessage.Resource{{
			Header: dnsmessage.ResourceHeader{Name: q.Name, Class: q.Class, TTL: 1},
			Body:   &dnsmessage.AResource{A: [4]byte{127, 0, 0, 1}},
		}}
	}
	said, err := m.Pack()
	if err != nil {
		return err
	}
	_, err = conn.Write(append(binary.BigEndian.AppendUint16(nil, uint16(len(said))), said...))
	return err
}

// authority is a certificate authority in a process of its own: pebble, the test server of a
// public one for the protocol (RFC 8555, 2019). It looks for names on port.
type authority struct {
	t               *testing.T
	directory, file string // its interface, and the file with what that is vouched for by
	roots           *x509.CertPool
	said            output
	stop            func()
}

func newAuthority(t *testing.T, port int, life time.Duration) *authority {
	t.Helper()
	program, err := exec.LookPath("pebble")
	if err != nil {
		t.Skip("no authority is installed; scripts/test -long installs one")
	}
	folder := t.TempDir()
	interfaces := certify(t, folder)
	type fields map[string]any
	asked, managed := freeAddress(t).String(), freeAddress(t).String()
	config, err := json.Marshal(fields{"pebble": fields{
		"listenAddress": asked, "managementListenAddress": managed, "tlsPort": port,
		"certificate": filepath.Join(folder, "chain.pem"),
		"privateKey":  filepath.Join(folder, "key.pem"), "keyAlgorithm": "ecdsa",
		"retryAfter": fields{"authz": 1, "order": 1},
		"profiles":   fields{"default": fields{"validityPeriod": int(life / time.Second)}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	put(t, folder, "config.json", string(config))
	running := exec.Command(program, "-config", filepath.Join(folder, "config.json"),
		"-dnsserver", loopbackNames(t))
	running.Env = append(os.Environ(), "PEBBLE_VA_NOSLEEP=1")
	a := &authority{t: t, directory: "https://" + asked + "/dir",
		file: filepath.Join(folder, "chain.pem"), roots: x509.NewCertPool()}
	running.Stdout, running.Stderr = &a.said, &a.said
	if err := running.Start(); err != nil {
		t.Fatal(err)
	}
	a.stop = func() {
		_ = running.Process.Kill()
		_ = running.Wait() // it was told to end
	}
	t.Cleanup(a.stop)
	client := http.Client{Transport: &http.Transport{
		TLSClientConfig: &tls.Config{RootCAs: interfaces}}}
	until(t, "the authority answers", func() bool {
		resp, err := client.Get("https://" + managed + "/roots/0")
		if err != nil {
			return false
		}
		defer resp.Body.Close()
		text, err := io.ReadAll(resp.Body)
		return err == nil && a.roots.AppendCertsFromPEM(text)
	})
	return a
}

// until waits for something that another process does.
func until(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(2 * time.Minute); !is(); time.Sleep(200 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("not within two minutes: %s", what)
		}
	}
}

// serve starts a server that gets its certificate from the authority.
func (a *authority) serve(data, address string) *running {
	return start(a.t, data, "--addr", address, "--tls", "acme", "--public-url", proxied,
		"--acme-directory", a.directory, "--acme-ca", a.file)
}

// visit opens the app's address as a phone does that trusts the authority, and returns the
// certificate that was shown; the error is that of a phone that is not let in.
func (a *authority) visit(address string) (*x509.Certificate, error) {
	ctx, cancel := context.WithTimeout(a.t.Context(), 45*time.Second)
	defer cancel()
	dial := func(ctx context.Context, network, _ string) (net.Conn, error) {
		return new(net.Dialer).DialContext(ctx, network, address)
	}
	client := http.Client{Transport: &http.Transport{DialContext: dial, DisableKeepAlives: true,
		TLSClientConfig: &tls.Config{RootCAs: a.roots}}}
	q, err := http.NewRequestWithContext(ctx, http.MethodGet, proxied+"/", nil)
	if err != nil {
		return nil, err
	}
	q.Header.Set("Accept", "text/html")
	resp, err := client.Do(q)
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	page, err := io.ReadAll(resp.Body)
	if err == nil && (resp.StatusCode != http.StatusOK || !strings.Contains(string(page), "<html") ||
		resp.Header.Get("Strict-Transport-Security") != "") {
		err = fmt.Errorf("%s %v %.100s", resp.Status, resp.Header, page)
	}
	return resp.TLS.PeerCertificates[0], err
}

// TestACME_FirstCertificate: a practice with a name gets its certificate on the port that it serves
// the app on (RFC 8737, 2020), keeps it where nobody else reads it, and a restart neither asks
// again nor needs the authority.
func TestACME_FirstCertificate(t *testing.T) {
	at := freeAddress(t)
	a, address := newAuthority(t, at.Port, 90*24*time.Hour), at.String()
	data := filepath.Join(t.TempDir(), "data")
	var first *x509.Certificate
	for round := range 2 {
		r := a.serve(data, address)
		r.url()
		cert, err := a.visit(address)
		if err != nil {
			t.Fatalf("round %d: %v\n%s\n%s", round, err, r.err.String(), a.said.String())
		}
		if round == 0 {
			first = cert
			a.stop()
		} else if !cert.Equal(first) {
			t.Error("a restart has another certificate")
		}
		_, told := told(t, data, "doctor", "--tls", "acme", "--public-url", proxied)
		if !strings.Contains(told, "well  server") {
			t.Errorf("doctor:\n%s", told)
		}
		if r.end() != exitOK || strings.Contains(r.err.String(), "no certificate") {
			t.Error(r.err.String())
		}
	}
	files, kept := 0, filepath.Join(data, acmeName)
	err := filepath.WalkDir(kept, func(p string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := e.Info()
		if err == nil && info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s: %v", p, info.Mode())
		}
		files++
		return err
	})
	if err != nil || files < 3 { // the folder, the account and the certificate
		t.Errorf("%d files, %v", files, err)
	}
}

// TestACME_Renews: a certificate is renewed while it is good yet, and phones get in all the time.
// Its life is what the authority chooses: here ninety seconds, of which thirty are left then.
func TestACME_Renews(t *testing.T) {
	at := freeAddress(t)
	a, address := newAuthority(t, at.Port, 90*time.Second), at.String()
	r := a.serve(filepath.Join(t.TempDir(), "data"), address)
	r.url()
	first, err := a.visit(address)
	if err != nil {
		t.Fatalf("%v\n%s\n%s", err, r.err.String(), a.said.String())
	}
	until(t, "another certificate is shown", func() bool {
		cert, err := a.visit(address)
		if err != nil {
			t.Fatalf("a phone is shut out: %v\n%s", err, r.err.String())
		}
		return !cert.Equal(first)
	})
	if r.end() != exitOK {
		t.Error(r.err.String())
	}
}

// TestACME_Why: where no certificate is to be had the log says why, no phone gets in, and the
// server goes on.
func TestACME_Why(t *testing.T) {
	stranger := httptest.NewTLSServer(http.NotFoundHandler())
	defer stranger.Close()
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data, "--tls", "acme", "--public-url", proxied, "--acme-directory", stranger.URL)
	address := strings.TrimPrefix(r.url(), "http://")
	until(t, "the log says why", func() bool {
		return strings.Contains(r.err.String(), "there is no certificate yet") &&
			strings.Contains(r.err.String(), "certificate signed by unknown authority")
	})
	_, err := tls.Dial("tcp", address, &tls.Config{ServerName: "practice.example"})
	if err == nil {
		t.Error("a phone gets in without a certificate")
	}
	if r.end() != exitOK {
		t.Error(r.err.String())
	}
	empty := filepath.Join(t.TempDir(), "none.pem")
	put(t, filepath.Dir(empty), filepath.Base(empty), "nothing\n")
	code, text := told(t, data, "serve", "--tls", "acme", "--public-url", proxied,
		"--acme-directory", stranger.URL, "--acme-ca", empty)
	if code != exitFailure || !strings.Contains(text, "holds no certificate in PEM") {
		t.Errorf("%d %s", code, text)
	}
}
