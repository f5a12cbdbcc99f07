package main

import (
	"flag"
	"fmt"
	"io"
	"strings"

	"evenhold/server/api"
)

// options are what the server is started with: flags over environment over defaults.
type options struct {
	addr    string
	data    string
	demo    bool
	origins api.Origins
}

// parseOptions reads the flags; env is asked for what no flag says. Help and
// faults go to errOut.
func parseOptions(args []string, env func(string) string, errOut io.Writer) (options, error) {
	var o options
	var public, origins string
	flags := flag.NewFlagSet("evenhold serve", flag.ContinueOnError)
	flags.SetOutput(errOut)
	text := func(to *string, name, fallback, use string) {
		key := "EVENHOLD_" + strings.ToUpper(strings.ReplaceAll(name, "-", "_"))
		if set := env(key); set != "" {
			fallback = set
		}
		flags.StringVar(to, name, fallback, use+" (environment: "+key+")")
	}
	text(&o.addr, "addr", "127.0.0.1:8420", "`host:port` to listen on")
	text(&o.data, "data", "data", "`folder` that holds everything the practice has")
	text(&public, "public-url", "http://localhost:8420", "the `URL` phones open")
	text(&origins, "origins", "", "further `origins` whose pages may use the server, with commas")
	flags.BoolVar(&o.demo, "demo", false, "serve a fresh example practice instead")
	if err := flags.Parse(args); err != nil {
		return options{}, err
	}
	if flags.NArg() > 0 {
		return options{}, fmt.Errorf("%q is not a flag; flags begin with --", flags.Arg(0))
	}
	var err error
	o.origins, err = api.NewOrigins(public, origins)
	return o, err
}
