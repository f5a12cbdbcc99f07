// Package store keeps a practice in one SQLite file: people, devices,
// invitations, documents and their operations, refusals and the audit trail.
//
// What a method has returned without an error survives a power cut. There is
// one writer and a pool of readers; a write is never tied to a request, so that
// a caller who hangs up cannot cut a transaction in half. Times are handed in as
// milliseconds since 1970-01-01 UTC. A Store is safe for concurrent use.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"
)

// Store is an open practice file.
type Store struct {
	path    string
	writer  *sql.DB
	readers *sql.DB

	readMost time.Duration // how long a read transaction may stay open

	failing sync.Once
	failed  chan struct{} // closed when the disk did not write through
}

// Open opens the practice file at path and makes it, readable by this user
// only, if there is none.
//
// Errors: ErrNewer for a file of a later version, ErrCorrupt for a file that is
// damaged or no practice file, ErrSetting when SQLite does not run as required.
func Open(path string) (*Store, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("open store: %w", err)
	}
	if err := f.Close(); err != nil {
		return nil, fmt.Errorf("open store: %w", err)
	}
	return opened(path, func(db *sql.DB) error {
		if err := settle(db); err != nil {
			return err
		}
		return migrate(db)
	})
}

// settle writes through what an earlier process left in the log. It may have died before it had
// done so: what is read from the log then lies in the system's memory alone, and a phone that
// sends it again would be told that it is kept.
func settle(db *sql.DB) error {
	if err := cutLog(db); !errors.Is(err, ErrBusy) {
		return err
	}
	// A command that reads keeps the log from being cut, not from being moved.
	_, err := db.Exec("PRAGMA wal_checkpoint(PASSIVE)")
	return err
}

// OpenPresent opens the practice file at path as it is, for a command that may run beside a
// server: it makes no file and brings none up to date. It returns ErrNotFound if there is no
// file and ErrOlder if an earlier version wrote it; else the errors of Open.
func OpenPresent(path string) (*Store, error) {
	if _, err := os.Stat(path); err != nil {
		if errors.Is(err, os.ErrNotExist) {
			return nil, fmt.Errorf("%w: there is no practice file %s", ErrNotFound, path)
		}
		return nil, fmt.Errorf("open store: %w", err)
	}
	return opened(path, upToDate)
}

// opened opens a file that is there and calls ready with the writer before anything else of
// it is used.
func opened(path string, ready func(*sql.DB) error) (*Store, error) {
	s := &Store{path: path, readMost: readMost, failed: make(chan struct{})}
	if err := s.open(ready); err != nil {
		return nil, fmt.Errorf("open store %s: %w", path, s.closeAfter(translate(err)))
	}
	return s, nil
}

func (s *Store) open(ready func(*sql.DB) error) error {
	var err error
	if s.writer, err = sql.Open("sqlite3", writerDSN(s.path)); err != nil {
		return err
	}
	s.writer.SetMaxOpenConns(1)
	if err := checkSettings(s.writer, writerSettings); err != nil {
		return err
	}
	if err := checkHealth(s.writer); err != nil {
		return err
	}
	if err := ready(s.writer); err != nil {
		return err
	}
	if s.readers, err = sql.Open("sqlite3", readerDSN(s.path)); err != nil {
		return err
	}
	s.readers.SetMaxOpenConns(4)
	s.readers.SetMaxIdleConns(4)
	if err := checkSettings(s.readers, readerSettings); err != nil {
		return err
	}
	return s.write(found)
}

func (s *Store) closeAfter(err error) error {
	for _, db := range []*sql.DB{s.readers, s.writer} {
		if db != nil {
			_ = db.Close() // the error being returned is the one to act on
		}
	}
	return err
}

// Close moves everything into the main file and closes it.
func (s *Store) Close() error {
	readersErr := s.readers.Close()
	_, checkpointErr := s.writer.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	if err := s.writer.Close(); err != nil {
		return fmt.Errorf("close store: %w", err)
	}
	if checkpointErr != nil {
		return fmt.Errorf("close store: %w", translate(checkpointErr))
	}
	if readersErr != nil {
		return fmt.Errorf("close store: %w", readersErr)
	}
	return nil
}

// Probe shows that the file can be read and written: it makes a change and
// takes it back.
func (s *Store) Probe() error {
	err := s.write(func(tx *sql.Tx) error {
		if err := setMeta(tx, "probe", "1"); err != nil {
			return err
		}
		return errProbe
	})
	if err == errProbe {
		return nil
	}
	return err
}

// Failed is closed when the disk did not write through what it was given. From then on nothing
// is written: "Can Applications Recover from fsync Failures?", USENIX Annual Technical
// Conference, 2020, shows that a second try may succeed without having kept anything.
func (s *Store) Failed() <-chan struct{} { return s.failed }

// write runs f in one immediate transaction. Nothing of it stays if f fails.
func (s *Store) write(f func(tx *sql.Tx) error) error {
	select {
	case <-s.failed:
		return ErrUnsafe
	default:
	}
	return s.noteFailure(s.transact(f))
}

// noteFailure closes failed if err says that the disk did not write through; it returns err.
func (s *Store) noteFailure(err error) error {
	if errors.Is(err, ErrUnsafe) {
		s.failing.Do(func() { close(s.failed) })
	}
	return err
}

func (s *Store) transact(f func(tx *sql.Tx) error) error {
	// No request's context here: an interrupt would roll back the whole
	// transaction and let later statements run outside it.
	tx, err := s.writer.BeginTx(context.Background(), nil)
	if err != nil {
		return translate(err)
	}
	defer func() { _ = tx.Rollback() }() // after the commit it does nothing
	if err := f(tx); err != nil {
		return translate(err)
	}
	return translate(tx.Commit())
}
