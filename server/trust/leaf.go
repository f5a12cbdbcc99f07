package trust

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"fmt"
	"net"
	"slices"
	"sync"
	"time"
)

// A certificate lives shorter than the 825 days that phones allow ("Requirements
// for trusted certificates in iOS 13 and macOS 10.15", Apple support, 103769) and
// is renewed long before its end.
const (
	leafLife   = 90 * 24 * time.Hour
	renewAhead = 30 * 24 * time.Hour
)

// Leaves hands out the server's own certificate and renews it. It lives in memory:
// each start makes a new one, under the same authority.
type Leaves struct {
	authority *Authority
	now       func() time.Time
	hosts     func() []string

	mu    sync.Mutex
	cert  *tls.Certificate
	names []string
}

// NewLeaves returns the maker of certificates for what hosts returns: names, and
// addresses in their usual form, asked for again at each handshake. Hosts that the
// authority may not vouch for are left out.
func NewLeaves(a *Authority, hosts func() []string, now func() time.Time) *Leaves {
	return &Leaves{authority: a, hosts: hosts, now: now}
}

// GetCertificate returns a certificate that is good for a while yet and names every host.
func (l *Leaves) GetCertificate(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	names := slices.DeleteFunc(slices.Clone(l.hosts()), func(host string) bool {
		return !l.authority.covers(host)
	})
	slices.Sort(names)
	names = slices.Compact(names)
	now := l.now()
	if l.cert != nil && slices.Equal(names, l.names) &&
		now.Before(l.cert.Leaf.NotAfter.Add(-renewAhead)) && now.After(l.cert.Leaf.NotBefore) {
		return l.cert, nil
	}
	cert, err := l.authority.issue(names, now)
	if err != nil {
		return nil, err
	}
	l.cert, l.names = cert, names
	return cert, nil
}

func (a *Authority) issue(hosts []string, now time.Time) (*tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	template := &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{CommonName: "Evenhold"},
		NotBefore: now.Add(-skew), NotAfter: earlier(now.Add(leafLife), a.cert.NotAfter),
		KeyUsage:              x509.KeyUsageDigitalSignature,
		ExtKeyUsage:           []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true,
	}
	for _, host := range hosts {
		if ip := net.ParseIP(host); ip != nil {
			template.IPAddresses = append(template.IPAddresses, ip)
		} else {
			template.DNSNames = append(template.DNSNames, host)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, template, a.cert, key.Public(), a.key)
	if err != nil {
		return nil, fmt.Errorf("issue a certificate: %w", err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, fmt.Errorf("issue a certificate: %w", err)
	}
	return &tls.Certificate{Certificate: [][]byte{der, a.cert.Raw}, PrivateKey: key, Leaf: leaf}, nil
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
