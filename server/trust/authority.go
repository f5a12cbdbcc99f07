// Package trust lets phones trust the server on a network of its own: a
// certificate authority that a practice makes once and that may vouch for its
// own names only, certificates that renew themselves, the page from which a
// phone takes the authority up, and certificates from elsewhere.
//
// All of it is safe for concurrent use. Times are handed in.
package trust

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"strings"
	"time"

	"evenhold/server/durable"
)

// authorityLife is long, for each phone has to take a new authority up by hand.
const authorityLife = 10 * 365 * 24 * time.Hour

// skew is how far a phone's clock may be behind and still find a fresh certificate valid.
const skew = 48 * time.Hour

// ErrAuthority says that the authority's file cannot be used.
var ErrAuthority = errors.New("the certificate authority cannot be used")

// Authority vouches for the server's names. Phones trust it once and for as long
// as its file is kept.
type Authority struct {
	cert *x509.Certificate
	key  crypto.Signer
}

// OpenAuthority reads the file at path; if there is none it makes an authority that
// may vouch for hosts, names of the local network and private addresses, and
// writes it for this user only.
//
// It returns ErrAuthority for a file that others can read, that is damaged or has
// run out, or whose authority may not vouch for one of hosts.
func OpenAuthority(path string, hosts []string, now time.Time) (*Authority, error) {
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return makeAuthority(path, hosts, now)
	}
	if err != nil {
		return nil, fmt.Errorf("open authority: %w", err)
	}
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("open authority: %w", err)
	}
	if info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("%w: other users of this machine can read %s; run chmod 600 on it",
			ErrAuthority, path)
	}
	a, err := parseAuthority(text)
	if err != nil {
		return nil, fmt.Errorf("%w: %s: %w; put it back from a backup. Without one move it away:"+
			" a new authority is made, and each phone has to trust that one", ErrAuthority, path, err)
	}
	if now.After(a.cert.NotAfter) {
		return nil, fmt.Errorf("%w: it ended on %s; move %s away: a new authority is made, and each"+
			" phone has to trust that one", ErrAuthority, a.cert.NotAfter.Format(time.DateOnly), path)
	}
	for _, host := range hosts {
		if !a.covers(host) {
			return nil, fmt.Errorf("%w: it was made for %s and may not vouch for %q. Phones know the"+
				" server by its old name: keep that. For a new name move %s away: a new authority is"+
				" made, and each phone has to trust that one and be invited again", ErrAuthority,
				strings.Join(a.cert.PermittedDNSDomains, ", "), host, path)
		}
	}
	return a, nil
}

// localDomains are kept for networks of one's own: RFC 6762 (2013), RFC 8375
// (2018), and RFC 6761 (2013) for localhost.
var localDomains = []string{"localhost", "local", "home.arpa"}

// localRanges are the addresses of such networks: RFC 1918 (1996), RFC 3927
// (2005), RFC 4193 (2005), RFC 4291 (2006), and loopback.
var localRanges = []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16",
	"127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128"}

// makeAuthority limits what can be done with a stolen key: it vouches for no
// address of the wider network (RFC 5280, 2008, section 4.2.1.10, name constraints).
func makeAuthority(path string, hosts []string, now time.Time) (*Authority, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	template := &x509.Certificate{
		SerialNumber: serial(),
		// The date tells two authorities apart in a phone's list.
		Subject:   pkix.Name{CommonName: "Evenhold practice " + now.Format(time.DateOnly)},
		NotBefore: now.Add(-skew), NotAfter: now.Add(authorityLife),
		KeyUsage: x509.KeyUsageCertSign, BasicConstraintsValid: true, IsCA: true,
		MaxPathLenZero: true, PermittedDNSDomainsCritical: true,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	template.PermittedDNSDomains = append(template.PermittedDNSDomains, localDomains...)
	for _, text := range localRanges {
		_, network, err := net.ParseCIDR(text)
		if err != nil {
			panic(err)
		}
		template.PermittedIPRanges = append(template.PermittedIPRanges, network)
	}
	for _, host := range hosts {
		if ip := net.ParseIP(host); ip != nil {
			bits := 8 * len(shortest(ip))
			one := &net.IPNet{IP: shortest(ip), Mask: net.CIDRMask(bits, bits)}
			template.PermittedIPRanges = append(template.PermittedIPRanges, one)
		} else {
			template.PermittedDNSDomains = append(template.PermittedDNSDomains, host)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		return nil, fmt.Errorf("make authority: %w", err)
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, fmt.Errorf("make authority: %w", err)
	}
	text := pem.EncodeToMemory(&pem.Block{Type: blockKey, Bytes: keyDER})
	text = append(text, pem.EncodeToMemory(&pem.Block{Type: blockCert, Bytes: der})...)
	if err := durable.Write(path, text); err != nil {
		return nil, fmt.Errorf("make authority: %w", err)
	}
	return parseAuthority(text)
}

func shortest(ip net.IP) net.IP {
	if four := ip.To4(); four != nil {
		return four
	}
	return ip
}

const (
	blockKey  = "PRIVATE KEY"
	blockCert = "CERTIFICATE"
)

func parseAuthority(text []byte) (*Authority, error) {
	keyBlock, rest := pem.Decode(text)
	certBlock, _ := pem.Decode(rest)
	if keyBlock == nil || keyBlock.Type != blockKey || certBlock == nil ||
		certBlock.Type != blockCert {
		return nil, errors.New("it is not a key with its certificate")
	}
	key, err := x509.ParsePKCS8PrivateKey(keyBlock.Bytes)
	if err != nil {
		return nil, err
	}
	cert, err := x509.ParseCertificate(certBlock.Bytes)
	if err != nil {
		return nil, err
	}
	signer, is := key.(*ecdsa.PrivateKey)
	if !is || !signer.PublicKey.Equal(cert.PublicKey) || !cert.IsCA {
		return nil, errors.New("key and certificate do not belong together")
	}
	return &Authority{cert: cert, key: signer}, nil
}

// covers reports whether the authority may vouch for a host.
func (a *Authority) covers(host string) bool {
	if ip := net.ParseIP(host); ip != nil {
		for _, network := range a.cert.PermittedIPRanges {
			if network.Contains(ip) {
				return true
			}
		}
		return false
	}
	for _, domain := range a.cert.PermittedDNSDomains {
		if host == domain || strings.HasSuffix(host, "."+domain) {
			return true
		}
	}
	return false
}

// Certificate returns the authority's own certificate; there always is one.
func (a *Authority) Certificate() (*x509.Certificate, error) { return a.cert, nil }

// Fingerprint is the SHA-256 of the certificate as phones show it: pairs of
// hexadecimal digits with colons.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.cert.Raw)
	pairs := make([]string, len(sum))
	for i, b := range sum {
		pairs[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(pairs, ":")
}

// serial returns a random serial number (RFC 5280, 2008, section 4.1.2.2: positive,
// at most 20 bytes).
func serial() *big.Int {
	b := make([]byte, 16)
	_, _ = rand.Read(b) // never fails, see crypto/rand
	b[0] = b[0]&0x7f | 0x40
	return new(big.Int).SetBytes(b)
}
