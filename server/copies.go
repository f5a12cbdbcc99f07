package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"filippo.io/age"

	"evenhold/server/backup"
	"evenhold/server/durable"
	"evenhold/server/store"
)

// recipients returns whom backups are sealed for; nobody for an empty key.
func recipients(key string) ([]age.Recipient, error) {
	if key == "" {
		return nil, nil
	}
	if secretKey.MatchString(key) { // not told further: an error is printed, and logged
		return nil, errors.New("--backup-seal is the secret key: take it out of the settings, keep" +
			" it off this machine, and set the public one, age1…; nothing was sealed with it")
	}
	r, err := age.ParseX25519Recipient(key)
	if err != nil {
		return nil, fmt.Errorf("--backup-seal is no public key: %w", err)
	}
	return []age.Recipient{r}, nil
}

// identities returns the keys in the file that --identity names.
func (c *call) identities() ([]age.Identity, error) {
	if c.said["identity"] == "" {
		return nil, nil
	}
	f, err := os.Open(c.said["identity"])
	if err != nil {
		return nil, fmt.Errorf("key file: %w", err)
	}
	defer f.Close()
	keys, err := age.ParseIdentities(f)
	if err != nil {
		return nil, fmt.Errorf("key file %s: %w", c.said["identity"], err)
	}
	return keys, nil
}

// runBackup makes a backup, or the key pair to seal them with.
func runBackup(c *call) error {
	if path := c.said["new-key"]; path != "" {
		return newSealKey(c, path)
	}
	seal, err := recipients(c.said["backup-seal"])
	if err != nil {
		return misuse("%v", err)
	}
	keep, err := c.count("backup-keep")
	if err != nil {
		return misuse("%v", err)
	}
	path, err := backup.Make(c.said["data"], c.backups(), seal, version(), c.now)
	if err != nil {
		return err
	}
	gone, err := backup.Prune(c.backups(), keep)
	if err != nil {
		return err
	}
	fmt.Fprintf(c.out, "%s\n", path)
	if gone > 0 {
		fmt.Fprintf(c.out, "%d older than the newest %d went.\n", gone, keep)
	}
	if inside, err := filepath.Rel(c.said["data"], path); err == nil && filepath.IsLocal(inside) {
		fmt.Fprintln(c.out, "It lies on the same disk as the data: copy it to another machine.")
	}
	return nil
}

func newSealKey(c *call, path string) error {
	key, err := age.GenerateX25519Identity()
	if err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("key file: %w", err)
	}
	_, err = f.WriteString(key.String() + "\n")
	if err := errors.Join(err, f.Sync(), f.Close(), durable.Names(filepath.Dir(path))); err != nil {
		return fmt.Errorf("key file: %w", err)
	}
	fmt.Fprintf(c.out, "The key is in %s. Whoever has it reads every backup sealed with it;"+
		" without it nobody does:\nkeep two copies of it off this machine, then remove it here."+
		" Public key:\n\nbackup-seal = %s\n", path, key.Recipient())
	return nil
}

// runRestore puts a backup in place; the folder's lock keeps a running server and this apart.
func runRestore(c *call) (err error) {
	keys, err := c.identities()
	if err != nil {
		return err
	}
	f, err := openFolder(c.said["data"], false)
	if err != nil {
		return err
	}
	defer f.close()
	kept, err := backup.Restore(c.args[0], f.path, keys, c.now)
	if err != nil {
		return err
	}
	fmt.Fprintln(c.out, "The backup is in place.")
	if kept != "" {
		fmt.Fprintf(c.out, "What was there is in %s.\n", kept)
	}
	fmt.Fprintln(c.out, "Start the server: phones that joined before the backup was made send again"+
		" what it lacks.")
	return nil
}

// runCheck checks the live data, or the backups that are named.
func runCheck(c *call) error {
	keys, err := c.identities()
	if err != nil {
		return err
	}
	if len(c.args) > 0 {
		return checkBackups(c, keys)
	}
	return c.with(func(s *store.Store) error {
		faults, err := s.Check(c)
		if err != nil {
			return err
		}
		more, err := checkTails(c, s, keys)
		if err != nil {
			return err
		}
		faults = append(faults, more...)
		if len(faults) == 0 {
			fmt.Fprintln(c.out, "All is well.")
			return nil
		}
		fmt.Fprintf(c.out, "%s\n", strings.Join(faults, "\n"))
		fmt.Fprintln(c.out, "Keep a copy of the data folder as it is, then restore the newest backup"+
			" that \"evenhold check backup-file\" finds whole.")
		return errFaults
	})
}

func checkBackups(c *call, keys []age.Identity) error {
	bad := false
	for _, path := range c.args {
		m, err := backup.Verify(path, os.TempDir(), keys)
		if err != nil {
			fmt.Fprintf(c.out, "%s: %v\n", path, err)
			bad = true
			continue
		}
		fmt.Fprintf(c.out, "%s: whole; made %s, people: %d, phones: %d, records: %d, entries: %d\n", path,
			m.Made().Format("2006-01-02 15:04 UTC"), m.People, m.Devices, max(0, m.Documents-1),
			m.Operations)
	}
	if bad {
		return errFaults
	}
	return nil
}

// checkTails holds the audit trail against what backups that can be opened say of its end: lines
// that were cut off along with the note of how many there were still show.
func checkTails(c *call, s *store.Store, keys []age.Identity) (faults []string, err error) {
	paths, err := backup.List(c.backups())
	if err != nil {
		return nil, err
	}
	live, err := s.Facts(c)
	if err != nil {
		return nil, err
	}
	for _, path := range paths {
		m, err := backup.Peek(path, keys)
		if errors.Is(err, backup.ErrSealed) {
			continue
		}
		if err != nil {
			faults = append(faults, fmt.Sprintf("%s: %v", path, err))
			continue
		}
		if m.Trail == "" || m.Practice != live.Practice || m.Epoch != live.Epoch {
			continue // of another life of the practice: its trail may go another way
		}
		tail, err := store.ParseTail(m.Trail)
		if err != nil {
			return faults, fmt.Errorf("%s: %w", path, err)
		}
		has, err := s.HasLine(c, tail)
		if err != nil {
			return faults, err
		}
		if !has {
			faults = append(faults, fmt.Sprintf("the audit trail lacks line %d as the backup of %s has it",
				tail.Lines, m.Made().Format(time.DateTime)))
		}
	}
	return faults, nil
}
