package trust

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"net/http"
	"os"
	"time"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"
)

// askWait is how long one question to an authority may take.
const askWait = time.Minute

// Public gets a certificate for a name of the practice's own from an authority that phones trust
// already, and renews it when a third of its life is left, at most 30 days (RFC 8555, 2019). The
// authority looks for the name on the port that the server is served on: 443 for one on the
// internet (RFC 8737, 2020).
type Public struct {
	manager *autocert.Manager
	host    string
}

// NewPublic keeps account and certificates in folder, each file for this user only. Directory ""
// asks the public authority that the library names; another authority's interface may have a
// certificate under those in the PEM file roots, "" for one that this machine trusts. Using it
// agrees to the authority's terms.
func NewPublic(folder, host, directory, roots string) (*Public, error) {
	m := &autocert.Manager{
		Prompt: autocert.AcceptTOS, Cache: autocert.DirCache(folder),
		HostPolicy: autocert.HostWhitelist(host), Client: &acme.Client{DirectoryURL: directory},
	}
	if roots != "" {
		asking, err := trusting(roots)
		if err != nil {
			return nil, fmt.Errorf("certificates of the authority: %w", err)
		}
		m.Client.HTTPClient = asking
	}
	return &Public{manager: m, host: host}, nil
}

// trusting returns a client that trusts the certificates in a PEM file and no others.
func trusting(path string) (*http.Client, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(text) {
		return nil, fmt.Errorf("%s holds no certificate in PEM", path)
	}
	transport := http.DefaultTransport.(*http.Transport).Clone()
	transport.TLSClientConfig = &tls.Config{RootCAs: pool}
	return &http.Client{Transport: transport, Timeout: askWait}, nil
}

// GetCertificate returns the certificate, and gets it first where there is none.
func (p *Public) GetCertificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	return p.manager.GetCertificate(hello)
}

// Protocols are what a listener must speak for the authority's look.
func (p *Public) Protocols() []string { return []string{"http/1.1", acme.ALPNProto} }

// Certificate asks for the certificate as a browser would, which gets it where there is none; the
// error says why there is none.
func (p *Public) Certificate() (*x509.Certificate, error) {
	cert, err := p.manager.GetCertificate(&tls.ClientHelloInfo{
		ServerName: p.host, SupportedProtos: []string{"h2"},
		CipherSuites:     []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256},
		SignatureSchemes: []tls.SignatureScheme{tls.ECDSAWithP256AndSHA256},
		SupportedCurves:  []tls.CurveID{tls.CurveP256},
	})
	if err != nil {
		return nil, err
	}
	return cert.Leaf, nil
}
