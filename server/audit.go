package main

import (
	"cmp"
	"fmt"
	"slices"
	"text/tabwriter"
	"time"

	"evenhold/server/store"
)

var auditCommand = command{name: "audit", args: "[id]", most: 1, run: runAudit,
	summary: "list who did what, and who read which record",
	about: "Prints the audit trail, oldest line first; with the id of a person, a phone or a\n" +
		"client's record only the lines that name it. A record that a member of staff was given\n" +
		"has one line a day. The trail holds ids alone; names are those of the people there are.",
	settings: []string{"data"}}

// runAudit prints the lines of the audit trail.
func runAudit(c *call) error {
	return c.with(func(s *store.Store) error {
		people, err := s.Everybody(c)
		if err != nil {
			return err
		}
		names := map[string]string{"": "-"}
		for _, p := range people {
			names[p.ID] = named(p.Name)
		}
		w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "LINE\tAT (UTC)\tWHAT\tABOUT\tRESULT\tBY\tNAME\tPHONE")
		err = s.Trail(c, func(n int64, e store.Event) error {
			if len(c.args) > 0 && !slices.Contains([]string{e.Person, e.Device, e.Subject}, c.args[0]) {
				return nil
			}
			name, is := names[e.Person]
			if !is {
				name = named("")
			}
			_, err := fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", n,
				time.UnixMilli(e.AtMS).UTC().Format(time.DateTime), e.Act, cmp.Or(e.Subject, "-"),
				cmp.Or(e.Result, "-"), cmp.Or(e.Person, "-"), name, cmp.Or(e.Device, "-"))
			return err
		})
		if err != nil {
			return err
		}
		return w.Flush()
	})
}
