package main

import (
	"cmp"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"evenhold/server/api"
)

// setting is one thing that flags, environment or the settings file can say.
type setting struct {
	name, fallback string
	use            string // for -h; a word in `quotes` names the value
	isFlag         bool   // takes no value; only by flag
}

// settings are all there are; each command takes those it names.
var settings = []setting{
	{name: "data", fallback: "data", use: "`folder` that holds everything the practice has"},
	{name: "addr", use: "`host:port` to listen on (default 127.0.0.1:8420; with --tls :8420)"},
	{name: "public-url", use: "the `URL` phones open; keep it for good (default" +
		" http://localhost:8420; with --tls own https://<this machine>.local:8420)"},
	{name: "origins", use: "further `origins` whose pages may use the server, with commas"},
	{name: "tls", fallback: tlsOff, use: "`how` phones trust this server: off (only this machine," +
		" or a proxy before it), own (an authority of the practice's own, for its own network), acme (a" +
		" public certificate; agrees to the authority's terms), file"},
	{name: "tls-cert", use: "with --tls file: the certificate chain, a PEM `file`"},
	{name: "tls-key", use: "with --tls file: its key, a PEM `file`"},
	{name: "plain-addr", fallback: ":8421",
		use: "with --tls own: `host:port` of the plain page that helps phones to trust the server"},
	{name: "acme-directory", use: "with --tls acme: the `URL` of another authority's directory"},
	{name: "acme-ca", use: "with --acme-directory: a PEM `file` with the authority's own" +
		" certificates, if this machine does not trust them already"},
	{name: "trusted-proxy",
		use: "`addresses` of proxies that are believed where a request comes from, with commas"},
	{name: "metrics", use: "`host:port` to serve metrics on, a port alone for this machine only;" +
		" off if empty"},
	{name: "log-format", fallback: logText, use: "`form` of the log's lines: text or json"},
	{name: "log-level", fallback: "info", use: "what the log tells: `level` debug, info, warn or" +
		" error, each with all that is worse; SIGUSR1 switches to debug and back"},
	{name: "empty-after-days", fallback: "0", use: "`days` without contact after which a phone that" +
		" has sent everything empties itself; 0 for never"},
	{name: "backups", use: "`folder` for backups; the folder backups in the data folder if empty"},
	{name: "backup-every", fallback: "24h", use: "`time` between own backups; 0 for none"},
	{name: "backup-keep", fallback: "14", use: "`count` of backups that stay"},
	{name: "backup-seal", use: "public `key` to seal backups with: age1…"},
	{name: "identity", use: "`file` with the key that opens sealed backups"},
	{name: "role", fallback: "client", use: "`role` of the person: owner, coach, assistant or client"},
	{name: "name", use: "`name` of the person"},
	{name: "record", use: "`id` of the client's record"},
	{name: "revoke", use: "`id` of a phone to shut out for good"},
	{name: "language", fallback: "en", use: "`language` of the sheet: en, or ar (a draft)"},
	{name: "out", use: "`file` to write"},
	{name: "months", fallback: "0", use: "`count` of months without an entry"},
	{name: "new-key", use: "`file` for a new key pair to seal backups with"},
	{name: "yes", use: "do it; without this the command only says what it would do", isFlag: true},
	{name: "sbom", use: "list the parts from outside, as CycloneDX JSON", isFlag: true},
	{name: "demo", use: "serve a fresh example practice instead", isFlag: true},
}

// settingsName is the file in the data folder that settings can stand in.
const settingsName = "evenhold.conf"

// said are settings as they apply to one run of a command.
type said map[string]string

// whence tells for each setting that has a value where it was found.
type whence map[string]string

// parse reads the flags of a command; the environment is asked for what no flag says, then the
// settings file, then what the server was started with, then the fallbacks. It also returns where
// each value was found, and what is not a flag. Help goes to help.
func parse(
	c command, args []string, env func(string) string, help io.Writer,
) (said, whence, []string, error) {
	flags := flag.NewFlagSet(c.name, flag.ContinueOnError)
	flags.SetOutput(io.Discard) // faults are told once, by whoever called
	flags.Usage = func() {
		flags.SetOutput(help)
		fmt.Fprintf(help, "Usage: evenhold %s\n\n%s\n\nFlags:\n", c.usage(), c.about)
		flags.PrintDefaults()
	}
	values := said{}
	for _, s := range settings {
		if !slices.Contains(c.settings, s.name) {
			continue
		}
		if s.isFlag {
			flags.BoolFunc(s.name, s.help(), func(v string) error { values[s.name] = v; return nil })
			continue
		}
		flags.Func(s.name, s.help(), func(v string) error { values[s.name] = v; return nil })
	}
	rest, err := interspersed(flags, args)
	if err != nil {
		return nil, nil, nil, err
	}
	found := whence{}
	for name := range values {
		found[name] = "flag"
	}
	return values, found, rest, values.complete(c, env, found)
}

// help returns what the setting is for and where else than in a flag it can stand.
func (s setting) help() string {
	if s.isFlag {
		return s.use
	}
	use := s.use + " (environment: " + environment(s.name) + ")"
	if s.fallback != "" {
		use += "; default " + s.fallback
	}
	return use
}

// interspersed parses flags before and after words that are none.
func interspersed(flags *flag.FlagSet, args []string) (rest []string, err error) {
	for {
		if err := flags.Parse(args); err != nil {
			return nil, err
		}
		if flags.NArg() == 0 {
			return rest, nil
		}
		rest = append(rest, flags.Arg(0))
		args = flags.Args()[1:]
	}
}

func environment(name string) string {
	return "EVENHOLD_" + strings.ToUpper(strings.ReplaceAll(name, "-", "_"))
}

// complete adds what no flag said, and to found where it says it.
func (v said) complete(c command, env func(string) string, found whence) error {
	add := func(from func(name string) string, more func(name string) string) {
		for _, s := range settings {
			if _, is := v[s.name]; is || s.isFlag || !slices.Contains(c.settings, s.name) {
				continue
			}
			if value := more(s.name); value != "" {
				v[s.name], found[s.name] = value, from(s.name)
			}
		}
	}
	add(func(name string) string { return "environment " + environment(name) },
		func(name string) string { return env(environment(name)) })
	data := v["data"]
	if data == "" {
		data = "data"
	}
	names := []string{settingsName, startedName}
	if c.name == "serve" {
		names = names[:1]
	}
	for _, name := range names {
		path := filepath.Join(data, name)
		file, err := readSettings(path)
		if err != nil {
			return err
		}
		add(func(string) string { return "file " + path },
			func(name string) string { return file[name] })
	}
	add(func(string) string { return fromDefault }, func(name string) string {
		at := slices.IndexFunc(settings, func(s setting) bool { return s.name == name })
		return settings[at].fallback
	})
	return nil
}

// fromDefault is whence a value comes that nobody gave.
const fromDefault = "default"

// readSettings reads lines of the form "name = value"; an empty line or one that begins with #
// says nothing. No file says nothing either.
func readSettings(path string) (said, error) {
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) || isNotFolder(err) {
		return said{}, nil
	}
	if err != nil {
		return nil, fmt.Errorf("settings file: %w", owned(err))
	}
	found := said{}
	number := 0
	for line := range strings.Lines(string(text)) {
		number++
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		name, value, isPair := strings.Cut(line, "=")
		name = strings.TrimSpace(name)
		known := slices.ContainsFunc(settings, func(s setting) bool {
			return s.name == name && !s.isFlag && s.name != "data"
		})
		if !isPair || !known {
			return nil, fmt.Errorf("%s, line %d: %q is no setting; write for example"+
				" \"backup-keep = 30\"", path, number, line)
		}
		found[name] = strings.TrimSpace(value)
	}
	return found, nil
}

// isNotFolder reports whether a path led through a file: whoever opens the data folder says so.
func isNotFolder(err error) bool { return errors.Is(err, syscall.ENOTDIR) }

// count reads a whole number that is not negative.
func (v said) count(name string) (int, error) {
	n, err := strconv.Atoi(v[name])
	if err != nil || n < 0 {
		return 0, fmt.Errorf("--%s is %q; it must be a whole number", name, v[name])
	}
	return n, nil
}

// awayDays reads after how many days without contact phones empty themselves; 0 for never.
func (v said) awayDays() (int, error) {
	const most = 3650
	n, err := v.count("empty-after-days")
	if n > most {
		return 0, fmt.Errorf("--empty-after-days is %d; the most is %d", n, most)
	}
	return n, err
}

// options are what the server is started with.
type options struct {
	addr, data  string
	metrics     string // address; "" for none
	demo        bool
	origins     api.Origins
	door        doorOptions
	proxies     []netip.Prefix
	emptyAfter  int // days; 0 for never
	backups     string
	backupEvery time.Duration // 0 for no backups by itself
	backupKeep  int
	backupSeal  string
	said        said // what all of it was read from
	supervisor  supervisor
	log         logOptions
}

// options reads what the server needs out of the settings.
func (v said) options() (o options, err error) {
	o = options{addr: v["addr"], data: v["data"], demo: v["demo"] == "true",
		backups: v.backups(), backupSeal: v["backup-seal"], said: v}
	o.door = doorOptions{mode: v["tls"], cert: v["tls-cert"], key: v["tls-key"],
		plain: v["plain-addr"], directory: v["acme-directory"], roots: v["acme-ca"]}
	if o.proxies, err = api.ParseProxies(v["trusted-proxy"]); err != nil {
		return options{}, err
	}
	if o.metrics, err = metricsAddr(v["metrics"]); err != nil {
		return options{}, err
	}
	o.addr = cmp.Or(o.addr, o.door.addr())
	public := cmp.Or(v["public-url"], o.door.publicURL())
	if o.origins, err = api.NewOrigins(public, v["origins"]); err != nil {
		return options{}, err
	}
	if err := o.door.check(o.origins); err != nil {
		return options{}, err
	}
	if o.backupKeep, err = v.count("backup-keep"); err != nil {
		return options{}, err
	}
	if o.backupEvery, err = time.ParseDuration(v["backup-every"]); err != nil || o.backupEvery < 0 {
		return options{}, fmt.Errorf("--backup-every is %q; write for example 24h", v["backup-every"])
	}
	_, err = recipients(o.backupSeal)
	return o, err
}
