package api

import (
	"fmt"
	"net/http"
	"net/netip"
	"strings"
)

// ParseProxies reads a comma list of addresses and networks ("127.0.0.1",
// "10.0.0.0/8"); an empty list is none. It returns ErrAddress for anything else.
func ParseProxies(list string) ([]netip.Prefix, error) {
	if list == "" {
		return nil, nil
	}
	var proxies []netip.Prefix
	for entry := range strings.SplitSeq(list, ",") {
		entry = strings.TrimSpace(entry)
		if one, err := netip.ParseAddr(entry); err == nil {
			proxies = append(proxies, netip.PrefixFrom(one.Unmap(), one.Unmap().BitLen()))
			continue
		}
		network, err := netip.ParsePrefix(entry)
		if err != nil {
			return nil, fmt.Errorf("trusted proxy: %w: %q; write it like 127.0.0.1 or 10.0.0.0/8",
				ErrAddress, entry)
		}
		proxies = append(proxies, network)
	}
	return proxies, nil
}

// address returns where a request comes from. X-Forwarded-For is believed as far
// as trusted proxies wrote it: read from its end, the first address that is not
// one of theirs. What stands before that anyone can have written.
func (s *Server) address(r *http.Request) string {
	peer, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return ""
	}
	from := peer.Addr().Unmap()
	hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(hops) - 1; i >= 0 && s.isProxy(from); i-- {
		hop, err := netip.ParseAddr(strings.TrimSpace(hops[i]))
		if err != nil {
			break // no address, or none that can be read: the proxy itself is the last that is known
		}
		from = hop.Unmap()
	}
	return from.String()
}

func (s *Server) isProxy(from netip.Addr) bool {
	for _, network := range s.Proxies {
		if network.Contains(from) {
			return true
		}
	}
	return false
}
