package trust

import (
	"net"
	"os"
	"strings"
)

// LocalHosts returns what this machine may be called on its own network: its
// name, with and without ".local", and its private addresses.
func LocalHosts() []string {
	hosts := []string{"localhost"}
	if name := MachineName(); name != "" {
		hosts = append(hosts, name+".local")
	}
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		return hosts // a machine that does not tell its addresses is reached by name
	}
	for _, address := range addresses {
		if network, is := address.(*net.IPNet); is && !network.IP.IsLinkLocalUnicast() {
			hosts = append(hosts, network.IP.String())
		}
	}
	return hosts
}

// MachineName is the first part of this machine's name as it may stand in an
// address, "" if it cannot.
func MachineName() string {
	name, err := os.Hostname()
	if err != nil {
		return ""
	}
	name, _, _ = strings.Cut(strings.ToLower(name), ".")
	isForeign := func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '-'
	}
	if strings.ContainsFunc(name, isForeign) {
		return ""
	}
	return name
}
