package main

import (
	"errors"
	"fmt"
	"text/tabwriter"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// runPeople lists staff, then client records, with the ids that other commands take.
func runPeople(c *call) error {
	return c.with(func(s *store.Store) error {
		people, err := s.Everybody(c)
		if err != nil {
			return err
		}
		w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "ROLE\tNAME\tID\tPHONES")
		ofDoc := map[record.ID]int{}
		for _, p := range people {
			in := 0
			for _, phone := range p.Phones {
				if phone.State == "in" {
					in++
				}
			}
			if !p.Doc.IsZero() {
				ofDoc[p.Doc] += in
				continue
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%d\n", p.Role, named(p.Name), p.ID, in)
		}
		docs, err := s.Documents(c)
		if err != nil {
			return err
		}
		practice, err := s.Practice(c)
		if err != nil {
			return err
		}
		for _, id := range docs {
			if id == practice.Doc {
				continue
			}
			doc, err := s.Document(c, id)
			if err != nil {
				return err
			}
			client, _ := sessions.ClientIn(doc)
			fmt.Fprintf(w, "client\t%s\t%s\t%d\n", named(client.Name), id, ofDoc[id])
		}
		return w.Flush()
	})
}

// named says where a name is missing: it was erased, or has not come in.
func named(name string) string {
	if name == "" {
		return "(no name)"
	}
	return fmt.Sprintf("%q", name) // whatever a name holds, it stays on its line
}

// states are the words for what the store says of a phone.
var states = map[string]string{"in": "in use", "ended": "ended: a copy of it was used",
	"out": "shut out", "wipe": "lost: empties itself when next in touch"}

// runDevices lists phones, or shuts one out.
func runDevices(c *call) error {
	return c.with(func(s *store.Store) error {
		people, err := s.Everybody(c)
		if err != nil {
			return err
		}
		if c.said["revoke"] != "" {
			return revoke(c, s)
		}
		w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "PHONE\tOF\tROLE\tSINCE (UTC)\tSTATE")
		for _, p := range people {
			for _, phone := range p.Phones {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", phone.Device, named(p.Name), p.Role,
					time.UnixMilli(phone.JoinedMS).UTC().Format(time.DateOnly), states[phone.State])
			}
		}
		return w.Flush()
	})
}

// revoke shuts a lost phone out, and has it empty itself.
func revoke(c *call, s *store.Store) error {
	device, err := clock.ParseDevice(c.said["revoke"])
	if err != nil {
		return misuse("--revoke %q is no phone's id; \"evenhold devices\" lists them", c.said["revoke"])
	}
	p, err := s.OwnerOf(c, device)
	if errors.Is(err, store.ErrNotFound) {
		return fmt.Errorf("no phone has the id %s; \"evenhold devices\" lists them", device)
	}
	if err != nil {
		return err
	}
	if err := s.ShutOut(store.Member{}, device, true, c.now.UnixMilli()); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "Phone %s of %s is shut out. It empties itself when it is next in touch; what"+
		" it had\nnot sent is lost with it.\n", device, named(p.Name))
	return nil
}

// runInvite makes an invitation as the owner makes it on the phone.
func runInvite(c *call) error {
	o, err := c.options()
	if err != nil {
		return misuse("%v", err)
	}
	guest := access.Guest{Role: sessions.Role(c.said["role"]), Name: c.said["name"]}
	if text := c.said["record"]; text != "" {
		if guest.Doc, err = record.ParseID(text); err != nil {
			return misuse("--record %q is no record's id; \"evenhold people\" lists them", text)
		}
	}
	key, err := c.key()
	if err != nil {
		return err
	}
	return c.with(func(s *store.Store) error {
		code, expires, err := invite(c, s, access.NewDesk(s, key, time.Now), guest)
		if err != nil {
			return err
		}
		link := o.origins.JoinLink(code)
		picture, err := terminalQR(link)
		if err != nil {
			return err
		}
		fmt.Fprintf(c.out, "\n  %s\n\n%s\nIt works once, until %s.\n\n", link, picture,
			expires.UTC().Format("2006-01-02 15:04 UTC"))
		return nil
	})
}

// errNoOwner says that nobody has claimed the practice.
var errNoOwner = errors.New("this practice has no owner yet; start the server and open the" +
	" link it prints")

func invite(c *call, s *store.Store, desk *access.Desk, guest access.Guest) (
	code access.Code, expires time.Time, err error) {
	if guest.Role == sessions.Owner {
		// The way back in for an owner who has lost every phone: whoever may run this, may.
		if code, expires, err = desk.InviteOwner(c); !errors.Is(err, store.ErrNotFound) {
			return code, expires, err
		}
	}
	people, err := s.Everybody(c)
	if err != nil {
		return code, expires, err
	}
	for _, p := range people {
		if p.Role != sessions.Owner {
			continue
		}
		code, expires, err = desk.Invite(store.Member{Person: p.Person}, guest)
		if err != nil {
			err = misuse("%v: --role coach or assistant, or client with --record", err)
		}
		return code, expires, err
	}
	return code, expires, errNoOwner
}
