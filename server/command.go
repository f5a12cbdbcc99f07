package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"evenhold/server/access"
	"evenhold/server/store"
)

// command is one thing that the program can be told to do.
type command struct {
	name     string
	args     string // what follows the name, for the usage line
	most     int    // words that may follow
	least    int    // words that must follow
	summary  string // one line for the list
	about    string // for -h
	settings []string
	run      func(*call) error
}

func (c command) usage() string {
	text := c.name + " [flags]"
	if c.args != "" {
		text += " " + c.args
	}
	return text
}

// call is one run of a command.
type call struct {
	context.Context
	said
	whence      whence
	args        []string
	out, errOut io.Writer
	env         func(string) string
	now         time.Time
}

// errUsage says that a command was called in a way it cannot be.
var errUsage = errors.New("")

// misuse returns an error that ends the program with the code for wrong usage.
func misuse(format string, args ...any) error {
	return fmt.Errorf("%w%s", errUsage, fmt.Sprintf(format, args...))
}

// errFaults says that a check found something; what, was printed.
var errFaults = errors.New("something is not as it must be: see above")

// doorSettings are what phones' way to the server hangs on.
var doorSettings = []string{"addr", "public-url", "tls", "tls-cert", "tls-key", "plain-addr",
	"acme-directory", "acme-ca", "trusted-proxy"}

// commands lists all there are, in the order in which a practice meets them. It is filled in by
// init because completion and help read it themselves.
var commands []command

func init() {
	commands = []command{
		{name: "serve", summary: "serve the app and keep the practice's data", run: runServe,
			about: "Serves until it is stopped (Ctrl-C or SIGTERM). Makes a backup every day.",
			settings: slices.Concat(doorSettings, []string{"data", "origins", "demo",
				"metrics", "log-format", "log-level", "empty-after-days", "backups", "backup-every",
				"backup-keep", "backup-seal"})},
		{name: "invite", summary: "make a link that lets one phone in", run: runInvite,
			about: "Makes a link that works once, within 24 hours, as the owner would on the phone.\n" +
				"A client's link needs --record: the ids of records are listed by \"evenhold people\".",
			settings: slices.Concat(doorSettings, []string{"data", "role", "name", "record",
				"backup-every", "backup-keep"})},
		sheetCommand, recoveryCommand,
		{name: "people", summary: "list the people and the clients' records", run: runPeople,
			about: "Prints one line for each person and client record.", settings: []string{"data"}},
		{name: "devices", summary: "list the phones, or shut one out", run: runDevices,
			about:    "Prints one line for each phone. --revoke shuts a lost one out at once and for good.",
			settings: []string{"data", "revoke"}},
		{name: "backup", summary: "make a backup now", run: runBackup,
			about: "Makes a backup, reads it back and prints where it is. The server may be running.\n" +
				"--new-key makes a key pair instead: keep the file off this machine, and put the\n" +
				"public key it prints into --backup-seal.",
			settings: []string{"data", "backups", "backup-keep", "backup-seal", "new-key"}},
		{name: "restore", args: "backup-file", least: 1, most: 1, run: runRestore,
			summary:  "put a backup in place of the data",
			about:    "Stop the server first. What is in the data folder is kept beside it.",
			settings: []string{"data", "identity"}},
		{name: "check", args: "[backup-file…]", most: 100, run: runCheck,
			summary:  "find out whether the data, or a backup, is whole",
			about:    "Changes nothing. The server may be running. Ends with 3 if anything is wrong.",
			settings: []string{"data", "backups", "identity"}},
		{name: "export", args: "id", least: 1, most: 1, run: runExport,
			summary: "write out everything about one person",
			about: "Takes the id of a client's record or of a member of staff. Writes a zip file: a\n" +
				"text that says what is what, all that is held as JSON with its schema, tables (CSV) and,\n" +
				"of a client, FHIR R4.",
			settings: []string{"data", "out"}},
		{name: "erase", args: "id", least: 1, most: 1, run: runErase,
			summary: "erase one person for good, from backups too",
			about: "Takes the id of a client's record or of a member of staff. Phones empty themselves\n" +
				"of an erased record when they are next in touch. Backups elsewhere lose it when they\n" +
				"are restored, if erased.txt lies beside them.",
			settings: []string{"data", "backups", "yes"}},
		auditCommand,
		{name: "retention", run: runRetention,
			summary: "list or erase records without entries for a time",
			about: "Lists client records into which nothing came for --months. With --yes it erases\n" +
				"them. How long records must be kept is for your local rules to say.",
			settings: []string{"data", "backups", "months", "yes"}},
		{name: "doctor", summary: "look for what usually goes wrong", run: runDoctor,
			about: "Looks at folder, disk, backups and the running server, goes to the public address\n" +
				"as a phone does, and says what to do.",
			settings: slices.Concat(doorSettings, []string{"data", "origins", "backups",
				"backup-every", "backup-keep"})},
		healthCommand, configCommand(),
		versionCommand, completionCommand, manCommand,
		{name: "help", args: "[command]", most: 1, summary: "print this text, or that of a command",
			about: "Prints what a command does and its flags.", run: runHelp},
	}
}

func find(name string) (command, bool) {
	for _, c := range commands {
		if c.name == name {
			return c, true
		}
	}
	return command{}, false
}

// do runs one command and returns the exit code.
func do(ctx context.Context, c command, args []string, env func(string) string,
	out, errOut io.Writer) int {
	values, found, rest, err := parse(c, args, env, out)
	if errors.Is(err, flag.ErrHelp) {
		return exitOK
	}
	if err == nil && len(rest) > c.most {
		err = fmt.Errorf("%q is not a flag; flags begin with --", rest[c.most])
	}
	if err == nil && len(rest) < c.least {
		err = fmt.Errorf("it needs: %s", c.args)
	}
	if err != nil {
		fmt.Fprintf(errOut, "evenhold %s: %v\n", c.name, err)
		return exitUsage
	}
	err = c.run(&call{Context: ctx, said: values, whence: found, args: rest, out: out,
		errOut: errOut, env: env, now: time.Now()})
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, errUsage):
		fmt.Fprintf(errOut, "evenhold %s: %v\n", c.name, err)
		return exitUsage
	case errors.Is(err, errFaults):
		fmt.Fprintf(errOut, "evenhold %s: %v\n", c.name, err)
		return exitFaults
	}
	fmt.Fprintf(errOut, "evenhold %s: %v\n", c.name, err)
	return exitFailure
}

// usage lists the commands.
func usage() string {
	var b strings.Builder
	b.WriteString(aboutProgram + "\n\nUsage:\n")
	for _, c := range commands {
		fmt.Fprintf(&b, "  evenhold %-12s %s\n", c.name, c.summary)
	}
	b.WriteString("\n\"evenhold help serve\" tells more of serve, and so for each. " + aboutSettings +
		"\n\nIt ends with\n")
	for _, e := range exits {
		fmt.Fprintf(&b, "  %d  %s\n", e.code, e.when)
	}
	return b.String()
}

// aboutProgram says in a sentence what the program is for.
const aboutProgram = "Evenhold tests, prescribes and logs side-to-side trunk endurance work."

// aboutSettings says where settings can stand.
const aboutSettings = "Every flag can also be set in the\nenvironment (EVENHOLD_DATA for --data)" +
	" or in the file " + settingsName + " in the data folder\n(backup-keep = 30); a flag goes" +
	" before the environment, that before the file. What none\nof them says, a command takes from" +
	" how the server was last started."

func runHelp(c *call) error {
	if len(c.args) == 0 {
		fmt.Fprint(c.out, usage())
		return nil
	}
	about, found := find(c.args[0])
	if !found {
		return misuse("there is no command %q", c.args[0])
	}
	do(c, about, []string{"-h"}, c.env, c.out, c.errOut)
	return nil
}

func (v said) path(name string) string { return filepath.Join(v["data"], name) }

// backups returns the folder for backups.
func (v said) backups() string {
	if v["backups"] != "" {
		return v["backups"]
	}
	return v.path("backups")
}

// open opens the practice as it is; the server may be running.
func (c *call) open() (*store.Store, error) { return store.OpenPresent(c.path(storeName)) }

// with calls f with the open practice.
func (c *call) with(f func(*store.Store) error) (err error) {
	s, err := c.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	return f(s)
}

func (c *call) key() (access.Key, error) { return access.OpenKey(c.path(keyName)) }
