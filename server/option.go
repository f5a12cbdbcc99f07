package main

import (
	"cmp"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/netip"
	"strings"

	"evenhold/server/api"
)

// options are what the server is started with: flags over environment over defaults.
type options struct {
	addr    string
	data    string
	demo    bool
	origins api.Origins
	door    doorOptions
	proxies []netip.Prefix
}

// parseOptions reads the flags; env is asked for what no flag says. Help and
// faults go to errOut.
func parseOptions(args []string, env func(string) string, errOut io.Writer) (options, error) {
	var o options
	var public, origins, proxies string
	flags := flag.NewFlagSet("evenhold serve", flag.ContinueOnError)
	flags.SetOutput(errOut)
	text := func(to *string, name, fallback, use string) {
		key := "EVENHOLD_" + strings.ToUpper(strings.ReplaceAll(name, "-", "_"))
		if set := env(key); set != "" {
			fallback = set
		}
		flags.StringVar(to, name, fallback, use+" (environment: "+key+")")
	}
	text(&o.addr, "addr", "", "`host:port` to listen on (default 127.0.0.1:8420; with --tls :8420)")
	text(&o.data, "data", "data", "`folder` that holds everything the practice has")
	text(&public, "public-url", "",
		"the `URL` phones open; keep it for good (default http://localhost:8420;"+
			" with --tls own https://<this machine>.local:8420)")
	text(&origins, "origins", "", "further `origins` whose pages may use the server, with commas")
	text(&o.door.mode, "tls", tlsOff, "`how` phones trust this server: off (only this machine, or a"+
		" proxy before it), own (an authority of the practice's own, for its own network), acme (a"+
		" public certificate; agrees to the authority's terms), file")
	text(&o.door.cert, "tls-cert", "", "with --tls file: the certificate chain, a PEM `file`")
	text(&o.door.key, "tls-key", "", "with --tls file: its key, a PEM `file`")
	text(&o.door.plain, "plain-addr", ":8421",
		"with --tls own: `host:port` of the plain page that helps phones to trust the server")
	text(&o.door.directory, "acme-directory", "",
		"with --tls acme: the `URL` of another authority's directory")
	text(&proxies, "trusted-proxy", "",
		"`addresses` of proxies that are believed where a request comes from, with commas")
	flags.BoolVar(&o.demo, "demo", false, "serve a fresh example practice instead")
	if err := flags.Parse(args); err != nil {
		return options{}, err
	}
	if flags.NArg() > 0 {
		return options{}, fmt.Errorf("%q is not a flag; flags begin with --", flags.Arg(0))
	}
	var err error
	if o.proxies, err = api.ParseProxies(proxies); err != nil {
		return options{}, err
	}
	o.addr = cmp.Or(o.addr, o.door.addr())
	o.origins, err = api.NewOrigins(cmp.Or(public, o.door.publicURL()), origins)
	return o, errors.Join(err, o.door.check(o.origins))
}
