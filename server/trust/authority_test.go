package trust

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var start = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

func newAuthority(t *testing.T, hosts ...string) (*Authority, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "authority.pem")
	a, err := OpenAuthority(path, hosts, start)
	if err != nil {
		t.Fatal(err)
	}
	return a, path
}

func TestAuthority_MadeOnceForThisUserOnly(t *testing.T) {
	a, path := newAuthority(t, "practice.home.arpa")
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info, err)
	}
	again, err := OpenAuthority(path, []string{"practice.home.arpa"}, start.Add(24*time.Hour))
	if err != nil || again.Fingerprint() != a.Fingerprint() {
		t.Errorf("another authority after a restart: %v", err)
	}
}

func TestAuthority_Refuses(t *testing.T) {
	tests := []struct {
		name, complaint string
		spoil           func(path string) error
		host            string
		now             time.Time
	}{
		{"read by others", "chmod 600", func(p string) error { return os.Chmod(p, 0o644) },
			"practice.example", start},
		{"cut short", "from a backup", func(p string) error { return os.Truncate(p, 100) },
			"practice.example", start},
		{"another name", "keep that", func(string) error { return nil }, "new.example", start},
		{"a name that only ends alike", "keep that", func(string) error { return nil },
			"badpractice.example", start},
		{"ended", "each phone has to trust", func(string) error { return nil },
			"practice.example", start.AddDate(11, 0, 0)},
	}
	for _, tt := range tests {
		_, path := newAuthority(t, "practice.example")
		if err := tt.spoil(path); err != nil {
			t.Fatal(err)
		}
		_, err := OpenAuthority(path, []string{tt.host}, tt.now)
		if !errors.Is(err, ErrAuthority) ||
			!strings.Contains(strings.Join(strings.Fields(err.Error()), " "), tt.complaint) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

// TestAuthority_Constraints: what is signed for another site of the internet with a
// stolen key is refused by whoever checks (crypto/x509 is the second opinion).
func TestAuthority_Constraints(t *testing.T) {
	a, _ := newAuthority(t, "practice.example", "203.0.113.5")
	roots := x509.NewCertPool()
	roots.AddCert(a.cert)
	tests := []struct {
		host  string
		valid bool
	}{
		{"practice.example", true}, {"vm.local", true}, {"clinic.home.arpa", true},
		{"localhost", true}, {"192.168.1.20", true}, {"10.0.0.9", true}, {"fd00::5", true},
		{"203.0.113.5", true}, {"203.0.113.6", false}, {"bank.example", false},
		{"practice.example.evil.test", false}, {"8.8.8.8", false}, {"2001:db8::1", false},
	}
	for _, tt := range tests {
		cert, err := a.issue([]string{tt.host}, start)
		if err != nil {
			t.Fatal(err)
		}
		_, err = cert.Leaf.Verify(x509.VerifyOptions{DNSName: tt.host, Roots: roots, CurrentTime: start})
		if (err == nil) != tt.valid || a.covers(tt.host) != tt.valid {
			t.Errorf("%s: %v, covers %v", tt.host, err, a.covers(tt.host))
		}
	}
}

// TestLeaves_Renew: a phone that trusts the authority gets in through years of new
// certificates, each short enough for phones (825 days, "Requirements for trusted
// certificates in iOS 13 and macOS 10.15", Apple support, 103769).
func TestLeaves_Renew(t *testing.T) {
	a, _ := newAuthority(t, "practice.home.arpa")
	now := start
	hosts := []string{"practice.home.arpa", "127.0.0.1", "bank.example"}
	leaves := NewLeaves(a, func() []string { return hosts }, func() time.Time { return now })
	roots := x509.NewCertPool()
	roots.AddCert(a.cert)
	server := httptest.NewUnstartedServer(http.NotFoundHandler())
	server.TLS = &tls.Config{GetCertificate: leaves.GetCertificate}
	server.StartTLS()
	defer server.Close()
	serials := map[string]bool{}
	visit := func() error {
		client := http.Client{Transport: &http.Transport{DisableKeepAlives: true,
			TLSClientConfig: &tls.Config{RootCAs: roots, ServerName: "practice.home.arpa",
				Time: func() time.Time { return now }}}}
		resp, err := client.Get(server.URL)
		if err != nil {
			return err
		}
		leaf := resp.TLS.PeerCertificates[0]
		serials[leaf.SerialNumber.String()] = true
		if life := leaf.NotAfter.Sub(leaf.NotBefore); life > 825*24*time.Hour {
			t.Errorf("a certificate of %v", life)
		}
		if leaf.VerifyHostname("bank.example") == nil {
			t.Error("it names a host that the authority may not vouch for")
		}
		return resp.Body.Close()
	}
	for range 60 {
		if err := visit(); err != nil {
			t.Fatalf("at %v: %v", now, err)
		}
		now = now.AddDate(0, 0, 30)
	}
	if n := len(serials); n < 20 || n > 59 {
		t.Errorf("%d certificates in five years", n)
	}
	before := len(serials)
	hosts = append(hosts, "192.168.7.7")
	if err := visit(); err != nil || len(serials) != before+1 {
		t.Errorf("a new address makes no new certificate: %v", err)
	}
	now = start.Add(authorityLife).AddDate(0, 0, 1)
	if visit() == nil {
		t.Error("an authority that has ended still vouches")
	}
}

func TestFiles_Reload(t *testing.T) {
	a, _ := newAuthority(t, "practice.example")
	folder := t.TempDir()
	certPath, keyPath := filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	now := start
	write := func() time.Time {
		cert, err := a.issue([]string{"practice.example"}, now)
		if err != nil {
			t.Fatal(err)
		}
		key, err := x509.MarshalPKCS8PrivateKey(cert.PrivateKey)
		if err != nil {
			t.Fatal(err)
		}
		chain := pem.EncodeToMemory(&pem.Block{Type: blockCert, Bytes: cert.Certificate[0]})
		keyText := pem.EncodeToMemory(&pem.Block{Type: blockKey, Bytes: key})
		err = errors.Join(os.WriteFile(certPath, chain, 0o600), os.WriteFile(keyPath, keyText, 0o600),
			os.Chtimes(certPath, now, now), os.Chtimes(keyPath, now, now))
		if err != nil {
			t.Fatal(err)
		}
		return cert.Leaf.NotAfter
	}
	if _, err := OpenFiles(certPath, keyPath, func() time.Time { return now }); err == nil {
		t.Error("it starts without files")
	}
	first := write()
	files, err := OpenFiles(certPath, keyPath, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	ends := func(at time.Time) bool {
		cert, err := files.Certificate()
		return err == nil && cert.NotAfter.Equal(at)
	}
	if !ends(first) {
		t.Fatal("it is not the certificate of the files")
	}
	now = now.Add(time.Hour)
	if err := os.WriteFile(certPath, []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	if !ends(first) {
		t.Error("a damaged file takes the old certificate away")
	}
	now = now.Add(time.Hour)
	if !ends(write()) {
		t.Error("a renewed certificate is not taken up")
	}
}
