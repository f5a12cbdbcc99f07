package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"time"
)

// SQLite moves its log of writes into the main file by itself, after 1,000 pages of 4 KiB, and
// begins the log anew where no reader looks at it. A reader that never ends, or readers of whom
// there is always one, let it grow without end ("Write-Ahead Logging", SQLite documentation,
// section 6, "Avoiding Excessively Large WAL Files"). So no reader of the server's stays for longer
// than readMost, and a log that became longer than LogMost is cut.
const (
	readMost = 30 * time.Second // a phone gives up after as long

	// LogMost is how many bytes the log may have before TrimLog cuts it.
	LogMost = 8 << 20
)

// read runs f in one read transaction, so that all it sees is of one moment. After readMost the
// transaction is over: f gets errors then, and read returns ErrBusy.
func (s *Store) read(ctx context.Context, f func(tx *sql.Tx) error) error {
	limited, cancel := context.WithTimeout(ctx, s.readMost)
	defer cancel()
	err := s.readAll(limited, f)
	if ctx.Err() == nil && limited.Err() != nil {
		return fmt.Errorf("%w: reading took longer than %v", ErrBusy, s.readMost)
	}
	return err
}

// readAll is read without a bound, for who goes through the whole file.
func (s *Store) readAll(ctx context.Context, f func(tx *sql.Tx) error) error {
	tx, err := s.readers.BeginTx(ctx, nil)
	if err != nil {
		return translate(err)
	}
	defer func() { _ = tx.Rollback() }() // a read has nothing to lose
	return translate(f(tx))
}

// TrimLog cuts the log to nothing if it is longer than LogMost. It returns ErrBusy if a reader,
// perhaps in another process, is in the way; writes wait for it for some seconds meanwhile.
func (s *Store) TrimLog() error {
	info, err := os.Stat(s.path + "-wal")
	if errors.Is(err, os.ErrNotExist) || err == nil && info.Size() <= LogMost {
		return nil
	}
	if err != nil {
		return fmt.Errorf("cut the log: %w", err)
	}
	return s.cutLog()
}

func (s *Store) cutLog() error { return s.noteFailure(cutLog(s.writer)) }

// cutLog moves the log into the main file and cuts it to nothing.
func cutLog(db *sql.DB) error {
	var busy, frames, moved int
	row := db.QueryRow("PRAGMA wal_checkpoint(TRUNCATE)")
	if err := row.Scan(&busy, &frames, &moved); err != nil {
		return fmt.Errorf("cut the log: %w", translate(err))
	}
	if busy != 0 {
		return fmt.Errorf("cut the log: %w", ErrBusy)
	}
	return nil
}
