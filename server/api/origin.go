package api

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
)

// ErrAddress says that a public URL or an origin cannot be used.
var ErrAddress = errors.New("not a usable address")

// Origins is the list of origins whose pages may use the server. Websockets,
// cross-site checks and CORS all go by it. An origin matches whole and exactly.
type Origins struct {
	public string
	more   []string
}

// NewOrigins reads the public URL and the comma list of further origins; an
// empty list is none. It returns ErrAddress for a path, a wildcard, "null" or an
// empty entry: each would let in more than was meant.
func NewOrigins(publicURL, list string) (Origins, error) {
	public, err := origin(strings.TrimSuffix(publicURL, "/"))
	if err != nil {
		return Origins{}, fmt.Errorf("public URL: %w", err)
	}
	o := Origins{public: public}
	if list == "" {
		return o, nil
	}
	for entry := range strings.SplitSeq(list, ",") {
		one, err := origin(strings.TrimSpace(entry))
		if err != nil {
			return Origins{}, fmt.Errorf("origins: %w", err)
		}
		o.more = append(o.more, one)
	}
	return o, nil
}

// origin checks that text is an origin as browsers write it: scheme, host in
// lower case, and a port unless it is the scheme's own.
func origin(text string) (string, error) {
	u, err := url.Parse(text)
	switch {
	case err != nil, u.Scheme != "http" && u.Scheme != "https", u.Host == "":
		return "", fmt.Errorf("%w: %q; write it like https://practice.example", ErrAddress, text)
	case strings.ContainsFunc(text, isOutsideOrigin):
		return "", fmt.Errorf("%w: %q; give scheme, host and port only, without wildcards",
			ErrAddress, text)
	case u.Path != "":
		return "", fmt.Errorf("%w: %q; a folder of a site will not do, give it a host name of its own"+
			" and leave out what follows that", ErrAddress, text)
	case text != strings.ToLower(text), strings.HasSuffix(u.Hostname(), "."):
		return "", fmt.Errorf("%w: %q; write it in lower case without a dot at the end",
			ErrAddress, text)
	case u.Port() == "80" && u.Scheme == "http", u.Port() == "443" && u.Scheme == "https":
		return "", fmt.Errorf("%w: %q; leave the scheme's own port out", ErrAddress, text)
	}
	return text, nil
}

// isOutsideOrigin reports characters that no origin has; an international name is
// written in its ASCII form there.
func isOutsideOrigin(r rune) bool {
	isWord := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9'
	return !isWord && !strings.ContainsRune(".-:/[]", r)
}

// Public returns the server's own origin.
func (o Origins) Public() string { return o.public }

// JoinLink returns the link that opens an invitation. The code stands in the
// fragment, which is never sent: it reaches no log and no referrer.
func (o Origins) JoinLink(code fmt.Stringer) string { return o.public + "/join#" + code.String() }

// IsLocal reports whether the server is reached on this machine only.
func (o Origins) IsLocal() bool {
	u, err := url.Parse(o.public)
	if err != nil {
		return false
	}
	ip := net.ParseIP(u.Hostname())
	return u.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
}

// IsSecure reports whether browsers give pages of the server what the phone app
// needs: a service worker, and cookies that are never sent in the clear.
func (o Origins) IsSecure() bool { return strings.HasPrefix(o.public, "https:") || o.IsLocal() }

func (o Origins) others() []string { return o.more }

// All returns every origin whose pages may use the server, its own first.
func (o Origins) All() []string { return append([]string{o.public}, o.more...) }

// mayOpenSocket lets a browser's page open a socket only from a listed origin.
// What sends no Origin is no browser and has to show a ticket all the same.
func (o Origins) mayOpenSocket(r *http.Request) bool {
	sent, found := r.Header["Origin"]
	if !found {
		return true
	}
	return len(sent) == 1 && slices.Contains(o.All(), sent[0])
}
