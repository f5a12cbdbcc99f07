package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"strings"
	"sync/atomic"
	"time"

	"evenhold/server/api"
	"evenhold/server/durable"
	"evenhold/server/trust"
)

// The ways in which phones trust the server.
const (
	tlsOff  = "off"
	tlsOwn  = "own"
	tlsACME = "acme"
	tlsFile = "file"
)

// A certificate of which less than a quarter of its life is left, or warnAhead, is told of, at the
// start and each day: it should have been renewed by then. It is looked at more often, so that a
// new one shows in the metrics.
const (
	warnAhead = 21 * 24 * time.Hour
	warnShare = 4
	watchWait = time.Hour
	warnWait  = 24 * time.Hour
)

// doorOptions are the flags that say how phones reach and trust the server.
type doorOptions struct{ mode, cert, key, plain, directory, roots string }

// addr is where to listen if nothing else is said: phones must reach what has a
// certificate, and nobody from outside what has none.
func (d doorOptions) addr() string {
	switch d.mode {
	case tlsOff:
		return "127.0.0.1:8420"
	case tlsACME:
		return ":443"
	}
	return ":8420"
}

// publicURL is what phones open if nothing else is said.
func (d doorOptions) publicURL() string {
	if name := trust.MachineName(); d.mode == tlsOwn && name != "" {
		return "https://" + name + ".local:8420"
	}
	return "http://localhost:8420"
}

// isPublic reports whether every browser trusts the server without being told to.
func (d doorOptions) isPublic() bool { return d.mode == tlsACME && d.roots == "" }

func (d doorOptions) check(origins api.Origins) error {
	isHTTPS := strings.HasPrefix(origins.Public(), "https:")
	switch {
	case d.mode != tlsOff && d.mode != tlsOwn && d.mode != tlsACME && d.mode != tlsFile:
		return fmt.Errorf("--tls %q: choose off, own, acme or file", d.mode)
	case d.mode != tlsOff && !isHTTPS:
		return fmt.Errorf("--tls %s: phones then open an address with https; say it with"+
			" --public-url, for example https://practice.example", d.mode)
	case d.mode == tlsFile && (d.cert == "" || d.key == ""):
		return errors.New("--tls file: say --tls-cert and --tls-key as well")
	case d.mode == tlsACME && d.roots != "" && d.directory == "":
		return errors.New("--acme-ca: say with --acme-directory which authority it belongs to")
	}
	return nil
}

// door is how phones come in.
type door struct {
	config *tls.Config // nil without TLS
	// certificate returns the one that can end first without renewing itself, or why there is none;
	// it is nil without TLS and may ask an authority.
	certificate func() (*x509.Certificate, error)

	seen      atomic.Pointer[time.Time]
	warned    time.Time    // when something was last told of the certificate; zero for never
	plain     http.Handler // nil for none
	plainAddr string
	app       string           // the origin that phones open
	authority *trust.Authority // nil unless of one's own
}

// openDoor prepares what o asks for; the authority is made at the first start.
func openDoor(o options, f *folder, now func() time.Time) (*door, error) {
	d := &door{app: o.origins.Public(), plainAddr: o.door.plain}
	hosts, err := hostsOf(o.origins)
	if err != nil {
		return nil, err
	}
	switch o.door.mode {
	case tlsOwn:
		d.authority, err = trust.OpenAuthority(f.file(authorityName), hosts, now())
		if err != nil {
			return nil, err
		}
		leaves := trust.NewLeaves(d.authority, func() []string {
			return append(trust.LocalHosts(), hosts...)
		}, now)
		d.config, d.certificate = newTLS(leaves.GetCertificate), d.authority.Certificate
		d.plain, err = trust.NewPage(d.authority, d.app)
		return d, err
	case tlsFile:
		files, err := trust.OpenFiles(o.door.cert, o.door.key, now)
		if err != nil {
			return nil, err
		}
		d.config, d.certificate = newTLS(files.GetCertificate), files.Certificate
	case tlsACME:
		public, err := trust.NewPublic(f.file(acmeName), hosts[0], o.door.directory, o.door.roots)
		if err != nil {
			return nil, err
		}
		d.config, d.certificate = newTLS(public.GetCertificate), public.Certificate
		d.config.NextProtos = public.Protocols()
	}
	return d, nil
}

func newTLS(get func(*tls.ClientHelloInfo) (*tls.Certificate, error)) *tls.Config {
	return &tls.Config{
		GetCertificate: get, MinVersion: tls.VersionTLS12, NextProtos: []string{"http/1.1"},
	}
}

// hostsOf returns the host of each origin, the public one first.
func hostsOf(origins api.Origins) ([]string, error) {
	var hosts []string
	for _, origin := range origins.All() {
		u, err := url.Parse(origin)
		if err != nil {
			return nil, err
		}
		hosts = append(hosts, u.Hostname())
	}
	return hosts, nil
}

// secure wraps a listener in TLS if there is any.
func (d *door) secure(l net.Listener) net.Listener {
	if d.config == nil {
		return l
	}
	return tls.NewListener(l, d.config)
}

// greet prints how a phone comes to trust the server, as text and as a QR code.
func (d *door) greet(out io.Writer) error {
	if d.authority == nil {
		return nil
	}
	page, err := d.plainURL()
	if err != nil {
		return err
	}
	picture, err := terminalQR(page)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "\nEach phone has to trust this server once, before anything else. Open on"+
		" it:\n\n  %s\n\n%s\nIt shows this fingerprint. Compare all of it:\n\n  %s\n\n",
		page, picture, d.authority.Fingerprint())
	return nil
}

func (d *door) plainURL() (string, error) {
	u, err := url.Parse(d.app)
	if err != nil {
		return "", err
	}
	_, port, err := net.SplitHostPort(d.plainAddr)
	if err != nil {
		return "", fmt.Errorf("--plain-addr: %w; write it like :8421", err)
	}
	return "http://" + net.JoinHostPort(u.Hostname(), port) + "/", nil
}

// openPlain opens the plain page, if there is one; the function it returns closes it.
func (d *door) openPlain(log *slog.Logger) (stop func(), err error) {
	if d.plain == nil {
		return func() {}, nil
	}
	listener, err := net.Listen("tcp", d.plainAddr)
	if err != nil {
		return nil, fmt.Errorf("listen for the plain page: %w; choose another --plain-addr", err)
	}
	server := newServer(d.plain, log)
	server.WriteTimeout = bodyWait
	go func() {
		if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			log.Error("the plain page has ended", "error", err.Error())
		}
	}()
	return func() { _ = server.Close() }, nil // nothing of it is worth waiting for
}

// watch looks at the certificate again and again, until ctx ends.
func (d *door) watch(ctx context.Context, log *slog.Logger) {
	if d.certificate == nil {
		return
	}
	tick := time.NewTicker(watchWait)
	defer tick.Stop()
	for {
		d.look(log, time.Now())
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// look remembers when the certificate ends, and tells in the log what is wrong with it: at once,
// and then each day.
func (d *door) look(log *slog.Logger, now time.Time) {
	var end time.Time
	cert, err := d.certificate()
	if err == nil {
		end = cert.NotAfter
	}
	d.seen.Store(&end)
	if now.Sub(d.warned).Abs() < warnWait {
		return
	}
	if err != nil {
		log.Warn("there is no certificate yet: phones cannot reach the server", "error", err.Error())
		d.warned = now
	} else if warnOfEnd(log, cert, now) {
		d.warned = now
	}
}

// end is when the certificate ends, as it was last looked at; zero while there is none. There may
// be nothing to tell yet, or no TLS.
func (d *door) end() (end time.Time, has bool) {
	if seen := d.seen.Load(); seen != nil {
		return *seen, true
	}
	return time.Time{}, false
}

// warnOfEnd tells of a certificate that has ended or soon will, and reports whether there was that
// to tell.
func warnOfEnd(log *slog.Logger, cert *x509.Certificate, now time.Time) bool {
	switch {
	case now.After(cert.NotAfter):
		log.Error("the certificate has ended: phones go on by themselves but cannot send",
			"ended", cert.NotAfter.Format(time.DateOnly))
	case endsSoon(cert, now):
		log.Warn("the certificate ends soon", "ends", cert.NotAfter.Format(time.DateOnly))
	default:
		return false
	}
	return true
}

// endsSoon reports whether a certificate should have been renewed by now.
func endsSoon(cert *x509.Certificate, now time.Time) bool {
	life := cert.NotAfter.Sub(cert.NotBefore)
	return cert.NotAfter.Sub(now) < min(warnAhead, life/warnShare)
}

// rememberAddress keeps the first public URL in the data folder and warns when it
// is another one than phones have joined under.
func rememberAddress(f *folder, origins api.Origins, log *slog.Logger) error {
	known, err := os.ReadFile(f.file(publicName))
	if errors.Is(err, fs.ErrNotExist) {
		return durable.Write(f.file(publicName), []byte(origins.Public()+"\n"))
	}
	if err != nil {
		return fmt.Errorf("public URL: %w", err)
	}
	before := strings.TrimSpace(string(known))
	for _, origin := range origins.All() {
		if origin == before {
			return nil
		}
	}
	log.Warn("phones joined under another public URL. They go on working by themselves, but find"+
		" this server no more: name the old one as --public-url, or in --origins while phones still"+
		" use it. When none does, remove the file",
		"before", before, "now", origins.Public(), "file", f.file(publicName))
	return nil
}
