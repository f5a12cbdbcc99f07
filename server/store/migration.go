package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
)

// Numbered from 0001 without gaps; a file that was ever released never changes.
//
//go:embed schema/*.sql
var schema embed.FS

// finish holds what a step needs beyond its script, in the same transaction.
var finish = map[int]func(*sql.Tx) error{2: linkTrail}

// migrate brings the file to this program's version, one transaction a step.
// There is no way back: a file of a later version is ErrNewer.
func migrate(db *sql.DB) error {
	version, steps, err := versions(db)
	if err != nil {
		return err
	}
	for i := version; i < len(steps); i++ {
		name := steps[i].Name()
		if err := migrateStep(db, i+1, name); err != nil {
			return fmt.Errorf("migrate %s: %w", name, err)
		}
	}
	return nil
}

func migrateStep(db *sql.DB, version int, name string) error {
	script, err := schema.ReadFile("schema/" + name)
	if err != nil {
		return err
	}
	tx, err := db.BeginTx(context.Background(), nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // does nothing after the commit
	if _, err := tx.Exec(string(script)); err != nil {
		return err
	}
	if more, found := finish[version]; found {
		if err := more(tx); err != nil {
			return err
		}
	}
	if _, err := tx.Exec(fmt.Sprintf("PRAGMA user_version = %d", version)); err != nil {
		return err
	}
	return tx.Commit()
}

// upToDate returns ErrOlder for a file of an earlier version.
func upToDate(db *sql.DB) error {
	version, steps, err := versions(db)
	if err == nil && version < len(steps) {
		err = fmt.Errorf("%w (it has version %d, this program makes %d)",
			ErrOlder, version, len(steps))
	}
	return err
}

// versions returns the file's version and the steps there are.
func versions(db *sql.DB) (version int, steps []fs.DirEntry, err error) {
	if steps, err = schema.ReadDir("schema"); err != nil {
		return 0, nil, err
	}
	if err := db.QueryRow("PRAGMA user_version").Scan(&version); err != nil {
		return 0, nil, err
	}
	if version > len(steps) || version < 0 {
		return 0, nil, fmt.Errorf("%w (it has version %d, this program knows %d)",
			ErrNewer, version, len(steps))
	}
	return version, steps, nil
}

// Version returns the version of the files that this program makes.
func Version() int {
	steps, err := schema.ReadDir("schema")
	if err != nil {
		panic("store: the embedded steps cannot be read: " + err.Error())
	}
	return len(steps)
}
