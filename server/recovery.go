package main

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"evenhold/server/access"
	"evenhold/server/store"
)

var recoveryCommand = command{
	name: "recovery", summary: "make the owner's ten recovery codes anew", run: runRecovery,
	about: "Prints ten codes to keep on paper. Each lets the owner in on one phone, once, however\n" +
		"much later, typed in where the phone asks for a code. They are shown this once, and\n" +
		"take the place of all made before, which then let nobody in. Does it with --yes only.",
	settings: slices.Concat(doorSettings, []string{"data", "yes", "backup-every", "backup-keep"}),
}

// runRecovery makes the owner's recovery codes, in place of those there are.
func runRecovery(c *call) error {
	o, err := c.options()
	if err != nil {
		return misuse("%v", err)
	}
	if c.said["yes"] != "true" {
		fmt.Fprintln(c.out, "Would make ten recovery codes for the owner; all made before would let"+
			" nobody in. Give --yes to do it.")
		return nil
	}
	key, err := c.key()
	if err != nil {
		return err
	}
	return c.with(func(s *store.Store) error {
		codes, err := access.NewDesk(s, key, time.Now).Recovery()
		if errors.Is(err, store.ErrNotFound) {
			return errNoOwner
		}
		if err != nil {
			return err
		}
		fmt.Fprintf(c.out, "Recovery codes of the owner, made %s. Each works once, and has no end."+
			"\nKeep them on paper, away from the phone. They are not shown again.\n\n",
			c.now.UTC().Format("2006-01-02 15:04 UTC"))
		for i, code := range codes {
			fmt.Fprintf(c.out, "  %2d  %s\n", i+1, code)
		}
		fmt.Fprintf(c.out, "\nTo use one: open %s on a phone and type it in.\nThen look at your"+
			" phones, and shut out the lost ones.\n", o.origins.Public())
		return nil
	})
}
