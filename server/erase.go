package main

import (
	"errors"
	"fmt"
	"os"
	"time"

	"evenhold/internal/sessions"
	"evenhold/server/backup"
	"evenhold/server/dossier"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// runErase erases a client record, or forgets a member of staff.
func runErase(c *call) error {
	return c.with(func(s *store.Store) error {
		doc, err := record.ParseID(c.args[0])
		if err == nil {
			return eraseAll(c, s, []record.ID{doc})
		}
		if c.said["yes"] != "true" {
			fmt.Fprintln(c.out, "Would take out the name of this member of staff and shut their phones"+
				" out. What they wrote\nstays in the clients' records under their name, and backups made"+
				" before keep the name until\nthey are removed or age out. Give --yes to do it.")
			return nil
		}
		err = s.ForgetStaff(c.args[0], c.now.UnixMilli())
		if errors.Is(err, store.ErrNotFound) {
			return fmt.Errorf("nobody has the id %q; \"evenhold people\" lists them", c.args[0])
		}
		if err != nil {
			return err
		}
		return scrub(s)
	})
}

// runRetention erases, or lists, what has been quiet for long.
func runRetention(c *call) error {
	months, err := c.count("months")
	if err != nil || months == 0 {
		return misuse("--months must be 1 or more")
	}
	return c.with(func(s *store.Store) error {
		docs, err := s.Quiet(c, c.now.AddDate(0, -months, 0).UnixMilli())
		if err != nil {
			return err
		}
		if len(docs) == 0 {
			fmt.Fprintf(c.out, "Every record has an entry of the last %d months.\n", months)
			return nil
		}
		return eraseAll(c, s, docs)
	})
}

// eraseAll erases records from the file, the backups and the lists, or says what it would erase.
func eraseAll(c *call, s *store.Store, docs []record.ID) error {
	for _, id := range docs {
		doc, err := s.Document(c, id)
		if err != nil {
			return err
		}
		client, _ := sessions.ClientIn(doc)
		fmt.Fprintf(c.out, "%s  %s, %d entries\n", id, named(client.Name), doc.Len())
	}
	if c.said["yes"] != "true" {
		fmt.Fprintln(c.out, "Nothing was erased. Give --yes to erase this for good, from backups too.")
		return nil
	}
	had := false
	for _, id := range docs {
		// Listed first: should this be cut off, a restore still leaves it out.
		if err := backup.Remember(id, c.said["data"], c.backups()); err != nil {
			return err
		}
		erased, err := s.Erase(id, c.now.UnixMilli())
		if err != nil {
			return err
		}
		had = had || erased
		sealed, err := backup.Clean(id, c.said["data"], c.backups(), c.now)
		if err != nil {
			return err
		}
		for _, path := range sealed {
			fmt.Fprintf(c.out, "%s is sealed and still holds it: remove it, or let it age out.\n", path)
		}
	}
	if err := scrub(s); err != nil {
		return err
	}
	if !had {
		return errors.New("no such record is here; should it be in a copy or on a phone, it is erased" +
			" from there when it comes back")
	}
	fmt.Fprintln(c.out, "Erased. Phones that hold it empty themselves of it when they are next in"+
		" touch.")
	return nil
}

// scrub waits for readers to let go of the log, for some seconds.
func scrub(s *store.Store) (err error) {
	for range 20 {
		if err = s.Scrub(); !errors.Is(err, store.ErrBusy) {
			return err
		}
		time.Sleep(500 * time.Millisecond)
	}
	return fmt.Errorf("erased, but the server keeps the old bytes in use; give the command again: %w",
		err)
}

// runExport writes everything about one person into a zip file.
func runExport(c *call) error {
	id := c.args[0]
	out := c.said["out"]
	if out == "" {
		out = "evenhold-" + id + ".zip"
	}
	return c.with(func(s *store.Store) (err error) {
		all, err := dossier.Of(c, s, id)
		if errors.Is(err, dossier.ErrNobody) {
			return fmt.Errorf("nobody has the id %q; \"evenhold people\" lists them", id)
		}
		if err != nil {
			return err
		}
		f, err := os.OpenFile(out, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if err != nil {
			return err
		}
		_, err = f.Write(all.Zip)
		if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
			return err
		}
		e := store.Event{AtMS: c.now.UnixMilli(), Act: "export", Subject: id, Result: "ok"}
		if err := s.Audit(e); err != nil {
			return err
		}
		fmt.Fprintf(c.out, "%s holds %d entries.\n", out, all.Entries)
		return nil
	})
}
