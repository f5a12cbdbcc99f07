package trust

import (
	"crypto/tls"
	"time"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"
)

// Public gets a certificate that every browser trusts already, for a name of the
// practice's own, and renews it (RFC 8555, 2019). The name must lead to this
// server from the internet at port 443, where the authority looks for it (RFC 8737, 2020).
type Public struct{ manager *autocert.Manager }

// NewPublic keeps account and certificates in folder; directory "" asks the
// public authority that the library names. Using it agrees to the authority's terms.
func NewPublic(folder, host, directory string) *Public {
	m := &autocert.Manager{
		Prompt: autocert.AcceptTOS, Cache: autocert.DirCache(folder),
		HostPolicy: autocert.HostWhitelist(host), RenewBefore: renewAhead,
	}
	if directory != "" {
		m.Client = &acme.Client{DirectoryURL: directory}
	}
	return &Public{m}
}

// GetCertificate returns the certificate, and gets it first where there is none.
func (p *Public) GetCertificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	return p.manager.GetCertificate(hello)
}

// Protocols are what a listener must speak for the authority's look.
func (p *Public) Protocols() []string { return []string{"http/1.1", acme.ALPNProto} }

// Expires asks for the certificate of host as a browser would and returns its end;
// it is the zero time while there is none.
func (p *Public) Expires(host string) time.Time {
	cert, err := p.manager.GetCertificate(&tls.ClientHelloInfo{
		ServerName: host, SupportedProtos: []string{"h2"},
		CipherSuites:     []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256},
		SignatureSchemes: []tls.SignatureScheme{tls.ECDSAWithP256AndSHA256},
		SupportedCurves:  []tls.CurveID{tls.CurveP256},
	})
	if err != nil || cert.Leaf == nil {
		return time.Time{}
	}
	return cert.Leaf.NotAfter
}
