package trust

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"os"
	"sync"
	"time"
)

// lookEvery is how often the files of a certificate from elsewhere are looked at.
const lookEvery = time.Minute

// Files is a certificate that another program gets and renews. A new one is taken
// up within a minute; files that cannot be read meanwhile leave the old one in use.
type Files struct {
	certPath, keyPath string
	now               func() time.Time

	mu     sync.Mutex
	cert   *tls.Certificate
	stamp  time.Time // of the files read last
	looked time.Time
}

// OpenFiles reads a certificate chain and its key, both PEM.
func OpenFiles(certPath, keyPath string, now func() time.Time) (*Files, error) {
	f := &Files{certPath: certPath, keyPath: keyPath, now: now}
	if err := f.read(); err != nil {
		return nil, fmt.Errorf("certificate: %w; both files are needed, as PEM", err)
	}
	return f, nil
}

// GetCertificate returns what the files held last.
func (f *Files) GetCertificate(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	return f.current(), nil
}

// Certificate returns the present certificate; there always is one.
func (f *Files) Certificate() (*x509.Certificate, error) { return f.current().Leaf, nil }

func (f *Files) current() *tls.Certificate {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.now().Sub(f.looked) >= lookEvery {
		_ = f.read() // half written or gone for a moment: the next look sees more
	}
	return f.cert
}

func (f *Files) read() error {
	f.looked = f.now()
	certInfo, err := os.Stat(f.certPath)
	if err != nil {
		return err
	}
	keyInfo, err := os.Stat(f.keyPath)
	if err != nil {
		return err
	}
	stamp := certInfo.ModTime()
	if keyInfo.ModTime().After(stamp) {
		stamp = keyInfo.ModTime()
	}
	if f.cert != nil && stamp.Equal(f.stamp) {
		return nil
	}
	cert, err := tls.LoadX509KeyPair(f.certPath, f.keyPath)
	if err != nil {
		return err
	}
	if cert.Leaf == nil {
		if cert.Leaf, err = x509.ParseCertificate(cert.Certificate[0]); err != nil {
			return err
		}
	}
	f.cert, f.stamp = &cert, stamp
	return nil
}
