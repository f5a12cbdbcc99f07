package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"math/big"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// certificate writes a certificate that vouches for itself until end, and its key.
func certificate(t *testing.T, end time.Time) (certPath, keyPath string) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), NotAfter: end,
		NotBefore: end.AddDate(-1, 0, 0), DNSNames: []string{"practice.example"}}
	cert, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	certPath, keyPath = filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	err = errors.Join(
		os.WriteFile(certPath, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: cert}), 0o600),
		os.WriteFile(keyPath, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private}), 0o600))
	if err != nil {
		t.Fatal(err)
	}
	return certPath, keyPath
}

// TestDoctor_Certificate: a certificate's end is told by the doctor, and shuts nobody out by
// itself: readyz stays good, for what it answers may be taken for a reason to stop a server.
func TestDoctor_Certificate(t *testing.T) {
	for name, tt := range map[string]struct {
		left time.Duration
		want string
	}{
		"a year":  {365 * 24 * time.Hour, "well  server\n"},
		"a day":   {24 * time.Hour, "LOOK  server: its certificate ends on "},
		"no more": {-time.Hour, "LOOK  server: its certificate ended on "},
	} {
		t.Run(name, func(t *testing.T) {
			data := filepath.Join(t.TempDir(), "data")
			cert, key := certificate(t, time.Now().Add(tt.left))
			door := []string{"--tls", "file", "--tls-cert", cert, "--tls-key", key,
				"--public-url", "https://practice.example"}
			r := start(t, data, door...)
			address := strings.TrimPrefix(r.url(), "http://")
			client := http.Client{Transport: &http.Transport{DisableKeepAlives: true,
				TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}}
			resp, err := client.Get("https://" + address + "/readyz")
			if err != nil {
				t.Fatal(err)
			}
			if err := resp.Body.Close(); err != nil || resp.StatusCode != http.StatusOK {
				t.Errorf("readyz: %d, %v", resp.StatusCode, err)
			}
			if _, text := told(t, data, append([]string{"doctor"}, door...)...); !strings.Contains(
				text, tt.want) {
				t.Errorf("doctor says:\n%s", text)
			}
			if code := r.end(); code != exitOK {
				t.Errorf("stopped with %d:\n%s", code, r.err.String())
			}
		})
	}
}
