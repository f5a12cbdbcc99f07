package store

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
)

// Facts are what is said of a practice file beside its content.
type Facts struct {
	Version  int    `json:"dataVersion"`
	Practice string `json:"practice"` // its identity, not its name
	Epoch    uint64 `json:"epoch"`
	Trail    string `json:"trail"` // tail of the audit trail; "" in a file of version 1

	People     int `json:"people"`
	Devices    int `json:"devices"`
	Documents  int `json:"documents"`
	Operations int `json:"operations"`
}

// Snapshot writes a copy of the practice file at from, as it stands at one moment, to the new
// file at to. It can run beside a server and takes a file of any version. The copy is one
// whole file on the disk, for this user only, and was read back: Read tells its facts.
func Snapshot(from, to string) (Facts, error) {
	if _, err := os.Stat(from); err != nil {
		return Facts{}, fmt.Errorf("snapshot: %w", err)
	}
	// The file is made first, or the library would make it readable by others.
	f, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return Facts{}, fmt.Errorf("snapshot: %w", err)
	}
	defer f.Close()
	if err := vacuumInto(from, to); err != nil {
		return Facts{}, fmt.Errorf("snapshot: %w", translate(err))
	}
	if err := f.Sync(); err != nil {
		return Facts{}, fmt.Errorf("snapshot: %w", err)
	}
	return Read(to)
}

func vacuumInto(from, to string) error {
	db, err := sql.Open("sqlite3", dsn(from, "mode=rw&_busy_timeout=5000"))
	if err != nil {
		return err
	}
	defer db.Close()
	full, err := filepath.Abs(to)
	if err != nil {
		return err
	}
	_, err = db.Exec("VACUUM INTO ?", full)
	return err
}

// Read reads the whole practice file at path, which nobody else may have open, and returns its
// facts. It takes a file of any version and changes nothing. A damaged one is ErrCorrupt, one
// of a later version ErrNewer.
func Read(path string) (f Facts, err error) {
	db, err := sql.Open("sqlite3", dsn(path, "mode=ro&immutable=1"))
	if err != nil {
		return Facts{}, fmt.Errorf("read %s: %w", path, err)
	}
	defer db.Close()
	tx, err := db.Begin()
	if err != nil {
		return Facts{}, fmt.Errorf("read %s: %w", path, translate(err))
	}
	defer func() { _ = tx.Rollback() }() // a read has nothing to lose
	if f.Version, _, err = versions(db); err == nil {
		f, err = facts(tx, f.Version)
	}
	if err != nil {
		return Facts{}, fmt.Errorf("read %s: %w", path, translate(err))
	}
	return f, nil
}

func facts(tx *sql.Tx, version int) (Facts, error) {
	f := Facts{Version: version}
	for _, check := range []func(*sql.Tx) ([]string, error){checkFile, checkReferences} {
		faults, err := check(tx)
		if err != nil {
			return f, err
		}
		if len(faults) > 0 {
			return f, fmt.Errorf("%w: %s", ErrCorrupt, faults[0])
		}
	}
	var err error
	if f.Practice, err = meta(tx, metaPractice); err != nil {
		return f, fmt.Errorf("%w: no identity", ErrCorrupt)
	}
	epoch, err := meta(tx, metaEpoch)
	if err != nil {
		return f, fmt.Errorf("%w: no epoch", ErrCorrupt)
	}
	if f.Epoch, err = strconv.ParseUint(epoch, 10, 64); err != nil {
		return f, fmt.Errorf("%w: epoch: %w", ErrCorrupt, err)
	}
	if tail, err := auditTail(tx); err == nil && tail.Lines > 0 {
		f.Trail = tail.String()
	}
	for table, to := range map[string]*int{"people": &f.People, "devices": &f.Devices,
		"docs": &f.Documents, "ops": &f.Operations} {
		if err := tx.QueryRow("SELECT COUNT(*) FROM " + table).Scan(to); err != nil {
			return f, err
		}
	}
	return f, nil
}

// Facts returns what is said of the open file.
func (s *Store) Facts(ctx context.Context) (f Facts, err error) {
	err = s.readAll(ctx, func(tx *sql.Tx) error {
		var version int
		if err := tx.QueryRow("PRAGMA user_version").Scan(&version); err != nil {
			return err
		}
		f, err = facts(tx, version)
		return err
	})
	return f, err
}

// Live begins another life of the file, in a new epoch: phones then pull everything afresh and
// push again what the file lacks. It is for a file that was put back from a backup.
func (s *Store) Live(nowMS int64) error {
	return s.write(func(tx *sql.Tx) error {
		old, err := meta(tx, metaEpoch)
		if err != nil {
			return err
		}
		if err := setMeta(tx, metaEpoch, newEpoch()); err != nil {
			return err
		}
		return audit(tx, Event{AtMS: nowMS, Act: "restore", Subject: old, Result: "ok"})
	})
}

// HasLine reports whether the audit trail still has the line that tail ends with.
func (s *Store) HasLine(ctx context.Context, tail Tail) (has bool, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		return tx.QueryRow("SELECT EXISTS (SELECT 1 FROM audit WHERE n = ? AND link = ?)",
			tail.Lines, tail.Link[:]).Scan(&has)
	})
	return has, err
}

// NeedsUpgrade reports whether the file at path was written by an earlier version; false if
// there is none.
func NeedsUpgrade(path string) (bool, error) {
	if _, err := os.Stat(path); err != nil {
		return false, nil // the error, if it is another, shows when the file is opened
	}
	db, err := sql.Open("sqlite3", dsn(path, "mode=rw&_busy_timeout=5000"))
	if err != nil {
		return false, err
	}
	defer db.Close()
	version, steps, err := versions(db)
	if err != nil {
		return false, translate(err)
	}
	return version > 0 && version < len(steps), nil
}
