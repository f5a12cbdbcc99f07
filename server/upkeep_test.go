package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhold/server/backup"
	"evenhold/server/metrics"
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

// TestUpkeep_ChecksEachWeek goes through six weeks in steps of twelve hours by a clock of its own:
// everything is read each seventh day, by servers that are started again every ten days as well;
// damage is told in the log, to monitoring and by the doctor, and is over when it is.
func TestUpkeep_ChecksEachWeek(t *testing.T) {
	f, o := oldPractice(t)
	o.backupEvery = 0
	s, err := store.Open(f.file(storeName))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() }) // a damaged file is closed as it is
	const step, day = 12 * time.Hour, 24 * time.Hour
	start := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	var now time.Time
	var said output
	var at []time.Duration
	check := func(ctx context.Context) ([]string, error) {
		at = append(at, now.Sub(start))
		return s.Check(ctx)
	}
	log := slog.New(slog.NewTextHandler(&said, nil))
	life := func(from, to time.Duration) { // of one server
		ctx, stop := context.WithCancel(t.Context())
		tick, ended := make(chan time.Time), make(chan struct{})
		go func() {
			defer close(ended)
			upkeep(ctx, o, f, check, log, start.Add(from), tick)
		}()
		for after := from; after < to; after += step {
			now = start.Add(after)
			tick <- now
			tick <- now // is taken when the first has been dealt with
		}
		stop()
		<-ended
	}
	life(0, 10*day)
	life(10*day, 20*day)
	if got := said.String(); strings.Count(got, "found nothing wrong") != 3 ||
		strings.Contains(got, "level=ERROR") {
		t.Errorf("a file that is whole:\n%s", got)
	}
	harm(t, f, "INSERT INTO grants (doc, person) VALUES (x'00', 'nobody')")
	life(20*day, 30*day)
	last, err := lastCheck(f.path)
	if err != nil || len(last.faults) == 0 || last.at != start.Add(28*day) ||
		!strings.Contains(said.String(), "the practice file is damaged") {
		t.Fatalf("the damage was not found: %+v, %v\n%s", last, err, said.String())
	}
	monitored(t, &meter{folder: f, backups: o.backups, door: &door{},
		log: slog.New(slog.DiscardHandler)}, last)
	harm(t, f, "DELETE FROM grants")
	life(30*day, 42*day)
	if last, err := lastCheck(f.path); err != nil || len(last.faults) != 0 {
		t.Errorf("what was mended is still told: %+v, %v", last, err)
	}
	want := []time.Duration{0, 7 * day, 14 * day, 21 * day, 28 * day, 35 * day}
	if !slices.Equal(at, want) {
		t.Errorf("checked at %v, want %v", at, want)
	}
}

// monitored asks the numbers for what a check found.
func monitored(t *testing.T, m *meter, last checked) {
	t.Helper()
	text := string(metrics.Append(nil, m.measured()))
	for _, want := range []string{fmt.Sprintf("\nevenhold_last_check_faults %d\n", len(last.faults)),
		fmt.Sprintf("\nevenhold_last_check_timestamp_seconds %d\n", last.at.Unix())} {
		if !strings.Contains(text, want) {
			t.Errorf("monitoring is not told %q:\n%s", want, text)
		}
	}
}

// harm changes the practice file past everything that guards it.
func harm(t *testing.T, f *folder, statement string) {
	t.Helper()
	db, err := sql.Open("sqlite3", f.file(storeName))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("PRAGMA foreign_keys = 0; " + statement); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestCheckIfDue: a stop cuts a check off, a fault of the disk is told, a wrong clock is overtaken,
// and a file that was cut off while it was written counts for none.
func TestCheckIfDue(t *testing.T) {
	f := &folder{path: t.TempDir()}
	log := slog.New(slog.DiscardHandler)
	now := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	count := 0
	check := func(context.Context) ([]string, error) { count++; return nil, nil }
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if err := checkIfDue(stopped, f, now, log, check); err != nil || count != 1 {
		t.Errorf("%v, %d", err, count)
	}
	broken := func(context.Context) ([]string, error) { return nil, errors.New("input/output error") }
	if err := checkIfDue(t.Context(), f, now, log, broken); err == nil {
		t.Error("a check that failed is not told of")
	}
	for _, tt := range []struct {
		name  string
		after time.Duration
		want  int
	}{
		{"neither was one", 0, 2}, {"a minute before its week is over", checkEvery - time.Minute, 2},
		{"its week is over", checkEvery, 3}, {"the clock was ahead", time.Hour, 4},
	} {
		err := checkIfDue(t.Context(), f, now.Add(tt.after), log, check)
		if err != nil || count != tt.want {
			t.Errorf("%s: %v, %d checks, want %d", tt.name, err, count, tt.want)
		}
	}
	put(t, f.path, checkedName, "2026-03-0")
	if err := checkIfDue(t.Context(), f, now, log, check); err != nil || count != 5 {
		t.Errorf("a file that was cut off: %v, %d", err, count)
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
