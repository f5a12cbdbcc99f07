package store

import (
	"database/sql"
	"errors"
	"fmt"

	"github.com/mattn/go-sqlite3"
)

// What a caller of this package can act on.
var (
	// ErrNotFound says that there is no such row.
	ErrNotFound = errors.New("not found")
	// ErrFull says that the disk has no room: nothing was written, reading goes on.
	ErrFull = errors.New("the disk is full")
	// ErrBusy says that the writer was not free in time: nothing was written.
	ErrBusy = errors.New("the practice file is busy")
	// ErrUnsafe says that the disk did not write through what it was given: after that nothing
	// may be acknowledged until the file is opened anew.
	ErrUnsafe = errors.New("the disk does not write through what it is given")
	// ErrCorrupt says that the file is damaged or is no practice file.
	ErrCorrupt = errors.New("the practice file is damaged or is not a practice file;" +
		" nothing was changed in it: keep a copy of it and put a backup in its place")
	// ErrNewer says that a later version of the program wrote the file.
	ErrNewer = errors.New("the practice file was written by a later version of evenhold;" +
		" nothing was changed in it: start that version, or restore the backup made before it")
	// ErrOlder says that an earlier version of the program wrote the file.
	ErrOlder = errors.New("the practice file was written by an earlier version of evenhold;" +
		" nothing was changed in it: start this version's server once, it makes a backup and" +
		" brings the file up to date")
	// ErrSetting says that SQLite does not run with the settings that keep data safe.
	ErrSetting = errors.New("SQLite does not run as it must")
	// ErrTaken says that an identity is in use already.
	ErrTaken = errors.New("this identity is taken")
	// ErrHidden says that a record is closed to whoever asks.
	ErrHidden = errors.New("this record is not shared with you")
	// ErrLimit says that a device has sent as many operations today as it may.
	ErrLimit = errors.New("this phone has sent more than a day's share")

	// ErrWrongCode says that no open invitation has this code.
	ErrWrongCode = errors.New("no invitation has this code")
	// ErrLocked says that an invitation was tried with too many wrong codes.
	ErrLocked = errors.New("this invitation is locked")
	// ErrUsed says that an invitation has been used.
	ErrUsed = errors.New("this invitation has been used")
	// ErrTurnedAway says that the phone was not let in by whoever made its invitation.
	ErrTurnedAway = errors.New("this phone was turned away")
	// ErrAnswered says that another phone has let in or turned away who waits.
	ErrAnswered = errors.New("this was answered on another phone")
	// ErrExpired says that an invitation's time is over.
	ErrExpired = errors.New("this invitation has expired")

	errProbe = errors.New("probe taken back")
)

// translate puts the sentinel of this package over an error of the driver.
func translate(err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, sql.ErrNoRows) {
		return ErrNotFound
	}
	var fault sqlite3.Error
	if !errors.As(err, &fault) {
		return err
	}
	switch fault.ExtendedCode {
	case sqlite3.ErrIoErrFsync, sqlite3.ErrIoErrDirFsync:
		return fmt.Errorf("%w: %w", ErrUnsafe, err)
	}
	switch fault.Code {
	case sqlite3.ErrFull:
		return fmt.Errorf("%w: %w", ErrFull, err)
	case sqlite3.ErrBusy, sqlite3.ErrLocked:
		return fmt.Errorf("%w: %w", ErrBusy, err)
	case sqlite3.ErrCorrupt, sqlite3.ErrNotADB, sqlite3.ErrFormat:
		return fmt.Errorf("%w: %w", ErrCorrupt, err)
	}
	return err
}
