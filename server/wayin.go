package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/gorilla/websocket"

	"evenhold/sync/wire"
)

// wayWait is how long the doctor waits for each answer at the public address; our own choice.
const wayWait = 10 * time.Second

// street is what lies between phones and the server, as far as this machine can see it.
type street struct {
	lookup func(ctx context.Context, network, host string) ([]netip.Addr, error)
	dial   func(ctx context.Context, network, address string) (net.Conn, error)
	own    func() ([]net.Addr, error) // addresses of this machine
	roots  *x509.CertPool             // whom phones trust from the start; nil: as this machine
}

var outside = street{lookup: net.DefaultResolver.LookupNetIP, dial: new(net.Dialer).DialContext,
	own: net.InterfaceAddrs}

// look goes to the server as a phone does: it looks the name up, asks at the public address and
// trusts whom a phone trusts. What cannot be seen from this machine is said to be so, and counts as
// well.
func (st street) look(ctx context.Context, o options) []finding {
	public, err := url.Parse(o.origins.Public())
	listens, unread := os.ReadFile(filepath.Join(o.data, addressName))
	switch {
	case err != nil || !o.origins.IsSecure():
		return nil // the address itself has to change first
	case o.origins.IsLocal():
		return []finding{{about: "way of phones: there is none, the address is for this machine alone"}}
	}
	proxy := finding{about: "proxy"}
	if o.door.mode == tlsOff && len(o.proxies) == 0 {
		proxy.advice = "with --tls off one stands before the server, and none is named: all phones" +
			" count as one, and wrong codes of one hold up all; name its address with --trusted-proxy"
	}
	name, isSeen := st.lookUp(ctx, o, public.Hostname())
	findings := []finding{proxy, name}
	if unread != nil || name.advice != "" {
		return findings // that the server does not run is told elsewhere
	}
	address := strings.TrimSpace(string(listens))
	if listener, err := netip.ParseAddrPort(address); err == nil && o.door.mode != tlsOff &&
		listener.Addr().IsLoopback() {
		return append(findings, finding{"way of phones", "the server listens on " + address +
			", which no phone reaches; leave --addr out, or write it like :8420"})
	}
	way := finding{about: "way of phones to " + o.origins.Public()}
	if !isSeen && o.door.mode == tlsOff {
		way.about += ": what stands before the server is not to be seen from here"
		return append(findings, way)
	}
	if !isSeen {
		// The certificate can be looked at all the same, where the server listens.
		way.about += ", its certificate only"
		st.dial = func(ctx context.Context, network, _ string) (net.Conn, error) {
			return new(net.Dialer).DialContext(ctx, network, address)
		}
	}
	trust, err := st.trust(o)
	if err != nil {
		way.advice = err.Error()
	} else if way.advice = st.ask(ctx, o, trust); way.advice == "" && isSeen {
		return append(findings, way, st.pass(ctx, o, trust))
	}
	return append(findings, way)
}

// lookUp says where the name of the public address leads, and whether that can be seen from here.
func (st street) lookUp(ctx context.Context, o options, host string) (f finding, isSeen bool) {
	ctx, cancel := context.WithTimeout(ctx, wayWait)
	defer cancel()
	f = finding{about: "name " + host}
	found, err := st.lookup(ctx, "ip", host)
	if literal, parseErr := netip.ParseAddr(host); parseErr == nil {
		found, err = []netip.Addr{literal}, nil
	}
	isLocalName := strings.HasSuffix(host, ".local")
	switch {
	case err != nil && isLocalName:
		f.about += ": phones ask each other for such names, this machine does not"
		return f, false
	case err != nil || len(found) == 0:
		f.advice = "is not known from here, so phones do not find the server; have the router, or who" +
			" keeps your names, give it this server's address"
		return f, false
	}
	own := map[netip.Addr]bool{}
	addresses, err := st.own()
	if err != nil {
		return f, true // what this machine does not tell cannot be compared
	}
	for _, a := range addresses {
		if prefix, err := netip.ParsePrefix(a.String()); err == nil {
			own[prefix.Addr().Unmap()] = true
		}
	}
	for _, a := range found {
		if a.IsLoopback() {
			f.about += ": this machine gives itself another answer than phones get"
			return f, false
		}
		if own[a.Unmap()] {
			f.about += ": leads to this machine"
			return f, true
		}
	}
	f.about += fmt.Sprintf(": leads to %s, which has to pass it on to this machine", found[0])
	if o.door.mode == tlsOwn {
		f.advice = "the practice's own authority is for its own network, where nothing stands" +
			" between; give the name this machine's address"
	}
	return f, true
}

// trust is whom a phone of this practice trusts.
func (st street) trust(o options) (*tls.Config, error) {
	path := o.door.roots
	if o.door.mode == tlsOwn {
		path = filepath.Join(o.data, authorityName)
	}
	if path == "" {
		return &tls.Config{RootCAs: st.roots}, nil
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("the authority cannot be read: %w", err)
	}
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(text) {
		return nil, fmt.Errorf("%s holds no certificate", path)
	}
	return &tls.Config{RootCAs: roots}, nil
}

func (st street) client(trust *tls.Config) *http.Client {
	return &http.Client{Timeout: wayWait, Transport: &http.Transport{DialContext: st.dial,
		TLSClientConfig: trust.Clone(), DisableKeepAlives: true, ExpectContinueTimeout: wayWait},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

// ask asks at the public address for the server, and says what is wrong with the answer.
func (st street) ask(ctx context.Context, o options, trust *tls.Config) (advice string) {
	q, err := http.NewRequestWithContext(ctx, http.MethodGet, o.origins.Public()+"/readyz", nil)
	if err != nil {
		return err.Error()
	}
	answer, err := st.client(trust).Do(q)
	var untrusted *tls.CertificateVerificationError
	switch {
	case errors.As(err, &untrusted):
		return "phones do not trust what answers there: " + untrusted.Err.Error() + "; " + chainAdvice(o)
	case err != nil:
		return "nothing answers there: " + err.Error() + "; look whether a firewall closes the port and" +
			" the router passes it on. Some routers lead no machine back to itself: then try with a phone"
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(io.LimitReader(answer.Body, 1<<10))
	switch {
	case answer.StatusCode >= 300 && answer.StatusCode < 400:
		return "what answers there leads on to " + answer.Header.Get("Location") + "; make that" +
			" --public-url, or have it pass requests on to this server"
	case err != nil || answer.StatusCode != http.StatusOK || string(body) != `{"status":"ok"}`:
		return fmt.Sprintf("something else answers there (%d); have it pass the whole site on to this"+
			" server", answer.StatusCode)
	}
	return ""
}

// chainAdvice is what usually leads to an untrusted certificate.
func chainAdvice(o options) string {
	if o.door.mode == tlsOwn {
		return "it is not this server, or has not the practice's own authority"
	}
	return "a file with the certificate alone, without the ones between, is the usual cause. Where" +
		" phones were given an authority by hand, try with one of them"
}

// pass says whether what stands before the server passes on all that phones send: news come over a
// websocket that only pages of the practice open, and a first push can be large. What a proxy makes
// of Host is not asked: the server does not go by it.
func (st street) pass(ctx context.Context, o options, trust *tls.Config) finding {
	f := finding{about: "websockets and large requests"}
	dialer := websocket.Dialer{NetDialContext: st.dial, TLSClientConfig: trust.Clone(),
		HandshakeTimeout: wayWait}
	public := o.origins.Public()
	live := "ws" + strings.TrimPrefix(public, "http") + "/api/live"
	conn, answer, err := dialer.DialContext(ctx, live, http.Header{"Origin": {public}})
	if err != nil {
		status := 0
		if answer != nil {
			status = answer.StatusCode
		}
		f.advice = fmt.Sprintf("what stands before the server does not pass websockets on as they are"+
			" (%d): phones hear of news late; have it pass on Upgrade, Connection and Origin", status)
		return f
	}
	_ = conn.Close() // without a ticket it is good for nothing else
	q, err := http.NewRequestWithContext(ctx, http.MethodPost, public+"/api/sync",
		io.LimitReader(zeros{}, wire.MaxBodyBytes))
	if err != nil {
		f.advice = err.Error()
		return f
	}
	// Who has no token is refused before the body is read: only a proxy asks for it to be sent.
	q.ContentLength = wire.MaxBodyBytes
	q.Header.Set("Expect", "100-continue")
	q.Header.Set("Content-Type", "application/vnd.evenhold.sync")
	if answer, err := st.client(trust).Do(q); err == nil {
		_ = answer.Body.Close() // only its status is of interest
		if answer.StatusCode == http.StatusRequestEntityTooLarge {
			f.advice = fmt.Sprintf("what stands before the server refuses requests of %d MB, which phones"+
				" send: raise its bound", wire.MaxBodyBytes>>20)
		}
	}
	return f
}

// zeros is a body without end.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) {
	clear(p)
	return len(p), nil
}
