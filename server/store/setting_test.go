package store

import (
	"context"
	"database/sql"
	"errors"
	"path/filepath"
	"strings"
	"testing"
)

// TestSettings_EachIsReadBack breaks one setting at a time. The names and values are those of
// "PRAGMA Statements", SQLite documentation.
func TestSettings_EachIsReadBack(t *testing.T) {
	tests := []struct{ name, parameters, complaint string }{
		{"as required", writerParameters, ""},
		{"no log", strings.Replace(writerParameters, "_journal_mode=WAL", "_journal_mode=DELETE", 1),
			"journal_mode is delete"},
		{"the driver's own durability", strings.Replace(writerParameters, "_synchronous=FULL&", "", 1),
			"synchronous is 1"},
		{"no foreign keys", strings.Replace(writerParameters, "_foreign_keys=1", "_foreign_keys=0", 1),
			"foreign_keys is 0"},
		{"impatient", strings.Replace(writerParameters, "_busy_timeout=5000", "_busy_timeout=1", 1),
			"busy_timeout is 1"},
		{"spelled for another driver", "_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)",
			"must be"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			db, err := sql.Open("sqlite3", dsn(filepath.Join(t.TempDir(), "x.db"), tt.parameters))
			if err != nil {
				t.Fatal(err)
			}
			defer db.Close()
			err = checkSettings(db, writerSettings)
			if tt.complaint == "" {
				if err != nil {
					t.Errorf("checkSettings: %v", err)
				}
				return
			}
			if !errors.Is(err, ErrSetting) || !strings.Contains(err.Error(), tt.complaint) {
				t.Errorf("checkSettings: %v, want a complaint that %s", err, tt.complaint)
			}
		})
	}
}

// TestSettings_Version: "Write-Ahead Logging", SQLite documentation, section on the WAL-reset
// bug: versions 3.7.0 to 3.51.2 have it, 3.51.3 has not.
func TestSettings_Version(t *testing.T) {
	tests := map[string]bool{
		"3.7.0": false, "3.40.1": false, "3.51.2": false, "3.51.3": true, "3.52.0": true,
		"3.53.4": true, "4.0.0": true, "2.99.99": false, "3.51": false, "": false, "x.y.z": false,
	}
	for version, isGood := range tests {
		if err := checkVersion(version); (err == nil) != isGood {
			t.Errorf("version %q: %v", version, err)
		}
	}
}

// TestSettings_ReadersCannotWrite: a read pool that could write would be a second writer.
func TestSettings_ReadersCannotWrite(t *testing.T) {
	s := openNew(t)
	_, err := s.readers.ExecContext(context.Background(), "DELETE FROM meta")
	if err == nil || !strings.Contains(err.Error(), "readonly") {
		t.Errorf("writing through the read pool: %v", err)
	}
}

// TestSettings_ImmediateWrites: a transaction that began as a read and turns into a write can
// fail without a second try, so a write must hold the lock from its first statement on.
func TestSettings_ImmediateWrites(t *testing.T) {
	s := openNew(t)
	other, err := sql.Open("sqlite3", dsn(s.path, "_busy_timeout=1&_txlock=immediate"))
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	err = s.write(func(*sql.Tx) error {
		tx, err := other.Begin()
		if err == nil {
			return errors.Join(errors.New("two writers at once"), tx.Rollback())
		}
		if !errors.Is(translate(err), ErrBusy) {
			return err
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}
