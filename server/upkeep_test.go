package main

import (
	"context"
	"database/sql"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhold/server/backup"
	"evenhold/server/store"
)

// backups lists what is in the folder of backups.
func backups(t *testing.T, o options) []string {
	t.Helper()
	paths, err := backup.List(o.backups)
	if err != nil {
		t.Fatal(err)
	}
	return paths
}

// oldPractice makes a data folder with a practice file of an earlier version.
func oldPractice(t *testing.T) (*folder, options) {
	t.Helper()
	data := t.TempDir()
	script, err := os.ReadFile("store/testdata/version1.sql")
	if err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite3", filepath.Join(data, storeName))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(string(script)); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := openFolder(data, false)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(f.close)
	return f, options{data: data, backups: filepath.Join(data, "backups"),
		backupEvery: 24 * time.Hour, backupKeep: 2}
}

// TestUpgradeBackup: an older file is backed up as it was before it is changed, and only then; a
// backup that cannot be made leaves it as it is.
func TestUpgradeBackup(t *testing.T) {
	f, o := oldPractice(t)
	log := slog.New(slog.DiscardHandler)
	blocked := o
	blocked.backups = filepath.Join(f.path, storeName, "no-folder")
	if err := upgradeBackup(blocked, f, log); err == nil {
		t.Error("a backup that could not be made was passed over")
	}
	err := upgradeBackup(o, f, log)
	paths := backups(t, o)
	if err != nil || len(paths) != 1 {
		t.Fatalf("%v, %q", err, paths)
	}
	if _, err := backup.Verify(paths[0], t.TempDir(), nil); err != nil {
		t.Errorf("the backup: %v", err)
	}
}

// TestBackupIfDue: at once where there is none, then when the newest is a day old, or is from a
// future that a wrong clock made; no more are kept than were asked for.
func TestBackupIfDue(t *testing.T) {
	f, o := oldPractice(t)
	log := slog.New(slog.DiscardHandler)
	now := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	for _, tt := range []struct {
		name  string
		after time.Duration
		want  []time.Duration // when those that are kept were made
	}{
		{"none yet", 0, []time.Duration{0}},
		{"a minute before its day is over", 24*time.Hour - time.Minute, []time.Duration{0}},
		{"its day is over", 24 * time.Hour, []time.Duration{0, 24 * time.Hour}},
		{"the oldest goes", 48 * time.Hour, []time.Duration{24 * time.Hour, 48 * time.Hour}},
		{"the clock was ahead", 25 * time.Hour, []time.Duration{25 * time.Hour, 48 * time.Hour}},
	} {
		if err := backupIfDue(o, f, now.Add(tt.after), log); err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		var got []time.Duration
		for _, path := range backups(t, o) {
			made, err := backup.MadeAt(path)
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, made.Sub(now))
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s: kept %v, want %v", tt.name, got, tt.want)
		}
	}
}

// TestBackup_KeepsPhonesTrust: what phones trust the server by, and where they find it, is in the
// backup and is back on a bare folder after a restore.
func TestBackup_KeepsPhonesTrust(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	want := map[string]string{authorityName: "the authority", publicName: "https://practice.example\n"}
	for name, text := range want {
		if err := os.WriteFile(filepath.Join(data, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	away := filepath.Join(t.TempDir(), "away")
	must(t, data, "backup", "--backups", away)
	paths, err := backup.List(away)
	if err != nil || len(paths) != 1 {
		t.Fatalf("%q, %v", paths, err)
	}
	bare := filepath.Join(t.TempDir(), "bare")
	must(t, bare, "restore", paths[0])
	for name, text := range want {
		got, err := os.ReadFile(filepath.Join(bare, name))
		if err != nil || string(got) != text {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
}

// TestTrim: a command that hangs as it reads the practice file makes the log of writes grow, and
// the server says so; once the command is gone the log of writes is cut.
func TestTrim(t *testing.T) {
	path := filepath.Join(t.TempDir(), storeName)
	s, err := store.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	command, err := sql.Open("sqlite3", path) // as another process would
	if err != nil {
		t.Fatal(err)
	}
	defer command.Close()
	reading, err := command.Begin()
	if err != nil {
		t.Fatal(err)
	}
	if err := reading.QueryRow("SELECT COUNT(*) FROM meta").Scan(new(int)); err != nil {
		t.Fatal(err)
	}
	long := strings.Repeat("x", store.LogMost)
	if err := s.Audit(store.Event{Act: "test", Subject: long, Result: "ok"}); err != nil {
		t.Fatal(err)
	}
	bytes := func() float64 {
		n, err := fileBytes(path + "-wal")
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	ctx, stop := context.WithCancel(t.Context())
	var said output
	var running sync.WaitGroup
	running.Go(func() { trim(ctx, s, time.Millisecond, slog.New(slog.NewTextHandler(&said, nil))) })
	eventually(t, "the log says what is in the way", func() bool {
		return strings.Contains(said.String(), "another program reads")
	})
	if bytes() <= store.LogMost {
		t.Errorf("the log has %v bytes: nothing was in the way", bytes())
	}
	if err := reading.Rollback(); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the log is cut", func() bool { return bytes() == 0 })
	stop()
	running.Wait()
}
