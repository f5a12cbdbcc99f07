package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
)

// Numbered from 0001 without gaps; a file that was ever released never changes.
//
//go:embed schema/*.sql
var schema embed.FS

// migrate brings the file to this program's version, one transaction a step.
// There is no way back: a file of a later version is ErrNewer.
func migrate(db *sql.DB) error {
	steps, err := schema.ReadDir("schema")
	if err != nil {
		return err
	}
	var version int
	if err := db.QueryRow("PRAGMA user_version").Scan(&version); err != nil {
		return err
	}
	if version > len(steps) || version < 0 {
		return fmt.Errorf("%w (it has version %d, this program knows %d)",
			ErrNewer, version, len(steps))
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
	if _, err := tx.Exec(fmt.Sprintf("PRAGMA user_version = %d", version)); err != nil {
		return err
	}
	return tx.Commit()
}
