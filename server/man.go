package main

import (
	"flag"
	"fmt"
	"strings"
	"time"
)

var manCommand = command{name: "man", run: runMan, summary: "print the manual page",
	about: "For example: evenhold man > /usr/local/share/man/man1/evenhold.1"}

// runMan prints the manual page, made of the same words as help.
func runMan(c *call) error {
	fmt.Fprint(c.out, manual(c.now))
	return nil
}

// manual returns the page in the language mdoc ("mdoc(7)", mandoc's manual), dated by the day on
// which it is made.
func manual(day time.Time) string {
	var b strings.Builder
	fmt.Fprintf(&b, ".Dd %s\n.Dt EVENHOLD 1\n.Os\n", day.UTC().Format("January 2, 2006"))
	b.WriteString(".Sh NAME\n.Nm evenhold\n.Nd the server of a practice\n" +
		".Sh SYNOPSIS\n.Nm evenhold\n.Ar command\n.Op Ar flags\n.Op Ar words\n" +
		".Sh DESCRIPTION\n" + mdoc(aboutProgram) + mdoc(aboutSettings))
	b.WriteString(".Sh COMMANDS\n.Bl -tag -width Ds\n")
	for _, c := range commands {
		fmt.Fprintf(&b, ".It Cm %s", c.name)
		if c.args != "" {
			fmt.Fprintf(&b, " Ar %s", escaped(c.args))
		}
		fmt.Fprintf(&b, "\n%s.Pp\n%s", mdoc(sentence(c.summary)), mdoc(c.about))
		if len(c.settings) > 0 {
			fmt.Fprintf(&b, ".Pp\nFlags:\n.Fl -%s\n",
				strings.Join(c.settings, " ,\n.Fl -"))
		}
	}
	b.WriteString(".El\n.Sh OPTIONS\n.Bl -tag -width Ds\n")
	for _, s := range settings {
		value, use := flag.UnquoteUsage(&flag.Flag{Usage: s.help()})
		fmt.Fprintf(&b, ".It Fl -%s", s.name)
		if !s.isFlag {
			fmt.Fprintf(&b, " Ar %s", escaped(value))
		}
		fmt.Fprintf(&b, "\n%s", mdoc(use))
	}
	b.WriteString(".El\n.Sh FILES\n.Bl -tag -width Ds\n")
	for _, f := range manualFiles {
		fmt.Fprintf(&b, ".It Pa %s\n%s", f.name, mdoc(f.use))
	}
	b.WriteString(".El\n.Sh EXIT STATUS\n.Bl -tag -width Ds\n")
	for _, e := range exits {
		fmt.Fprintf(&b, ".It %d\n%s", e.code, mdoc(e.when))
	}
	b.WriteString(".El\n")
	return b.String()
}

// manualFiles are the files in the data folder that an owner may look into or keep elsewhere.
var manualFiles = []struct{ name, use string }{
	{storeName, "all records of the practice"},
	{keyName, "the key that signs tokens"},
	{authorityName, "with --tls own: the key of the practice's own authority"},
	{settingsName, "settings, a line for each: backup-keep = 30"},
	{startedName, "the settings that the server was last started with"},
}

// sentence returns a line as a sentence.
func sentence(line string) string { return strings.ToUpper(line[:1]) + line[1:] + "." }

// mdocColumns is how long a line of the page's source may be: "mandoc(1)" warns beyond 80.
const mdocColumns = 78

// mdoc returns a text as lines of a page: each sentence begins a line, and none is taken for a
// macro.
func mdoc(text string) string {
	var b strings.Builder
	columns, endsSentence := 0, false
	for word := range strings.FieldsSeq(text) {
		word = escaped(word)
		switch {
		case columns > 0 && (endsSentence || columns+1+len(word) > mdocColumns):
			b.WriteString("\n")
			columns = 0
		case columns > 0:
			b.WriteString(" ")
			columns++
		}
		if columns == 0 && (word[0] == '.' || word[0] == '\'') {
			word = `\&` + word
		}
		b.WriteString(word)
		columns += len(word)
		endsSentence = strings.HasSuffix(word, ".")
	}
	b.WriteString("\n")
	return b.String()
}

// escaped returns a text whose characters all stand for themselves: a bare - may be printed as a
// hyphen, which no shell takes for the sign before a flag.
func escaped(text string) string {
	return strings.NewReplacer(`\`, `\e`, "-", `\-`, "…", `\[u2026]`).Replace(text)
}
