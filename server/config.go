package main

import (
	"fmt"
	"regexp"
	"text/tabwriter"
)

// configCommand takes every setting that has a value; it is a function because the settings of
// the program are listed where flags are read.
func configCommand() command {
	var names []string
	for _, s := range settings {
		if !s.isFlag {
			names = append(names, s.name)
		}
	}
	return command{name: "config", run: runConfig, settings: names,
		summary: "print the settings, and where each comes from",
		about: "Prints each setting, its value and whether a flag, the environment, a file or the\n" +
			"default says so. Secrets are hidden. The file " + startedName + " holds what the server\n" +
			"was last started with; a new start does not read it. Ends with 2 if a server could not\n" +
			"be started with these settings, and says why."}
}

// runConfig prints a line for each setting.
func runConfig(c *call) error {
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	for _, s := range settings {
		if s.isFlag {
			continue
		}
		value, from := c.said[s.name], c.whence[s.name]
		if value == "" {
			value, from = c.derived(s.name), fromDefault
		}
		if value == "" {
			value, from = "-", "not set"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\n", s.name, hidden(value), from)
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("print the settings: %w", err)
	}
	_, err := c.options()
	if _, logErr := c.logOptions(); err == nil {
		err = logErr
	}
	if err != nil {
		return misuse("a server cannot be started so: %s", hidden(err.Error()))
	}
	return nil
}

// derived returns what a setting that nobody gave comes to by the others; "" for nothing.
func (v said) derived(name string) string {
	door := doorOptions{mode: v["tls"]}
	switch name {
	case "addr":
		return door.addr()
	case "public-url":
		return door.publicURL()
	case "backups":
		return v.backups()
	}
	return ""
}

// What must not be shown: the secret half of a key pair for backups ("The age file encryption
// format", age-encryption.org/v1), and who signs in to an address and with what (RFC 3986, 3.2.1
// and 3.4: some services take a token in the query).
var (
	secretKey = regexp.MustCompile(`(?i)AGE-SECRET-KEY-[0-9A-Z-]*`)
	userInfo  = regexp.MustCompile(`://[^/@\s,]*@`)
	query     = regexp.MustCompile(`(://[^?\s,]*)\?[^\s,"]*`)
)

// hidden returns a text with the secrets in it hidden.
func hidden(text string) string {
	text = secretKey.ReplaceAllString(text, "(hidden)")
	text = userInfo.ReplaceAllString(text, "://(hidden)@")
	return query.ReplaceAllString(text, "$1?(hidden)")
}
