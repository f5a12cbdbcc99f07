package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"evenhold/server/backup"
	"evenhold/server/store"
)

// How often the server looks after itself; our own choice.
const (
	upkeepEvery = 10 * time.Minute
	watchEvery  = time.Second
	trimEvery   = time.Minute
)

// upgradeBackup makes a backup of a practice file of an earlier version before it is changed.
func upgradeBackup(o options, f *folder, log *slog.Logger) error {
	needs, err := store.NeedsUpgrade(f.file(storeName))
	if err != nil || !needs {
		return err
	}
	path, err := keepBackup(o, f, time.Now())
	if err != nil {
		return fmt.Errorf("the file is of an earlier version and was not changed: %w", err)
	}
	log.Info("made a backup before bringing the practice file up to date", "file", path)
	return nil
}

func keepBackup(o options, f *folder, now time.Time) (string, error) {
	seal, err := recipients(o.backupSeal)
	if err != nil {
		return "", err
	}
	return backup.Make(f.path, o.backups, seal, version(), now)
}

// lookAfter does what a server does by itself until ctx ends or the returned stop is called,
// which waits for a backup that is being made.
func lookAfter(ctx context.Context, o options, f *folder, s *store.Store, log *slog.Logger,
	changed func()) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	var running sync.WaitGroup
	running.Go(func() {
		tick := time.NewTicker(upkeepEvery)
		defer tick.Stop()
		upkeep(ctx, o, f, s.Check, log, time.Now(), tick.C)
	})
	running.Go(func() { watch(ctx, s, log, changed) })
	running.Go(func() { o.supervisor.watch(ctx, log, s.Probe) })
	running.Go(func() { trim(ctx, s, trimEvery, log) })
	return func() {
		cancel()
		running.Wait()
	}
}

// upkeep makes backups and whole checks when they are due, until ctx ends. It looks at each tick,
// by the moment that it brings, and for backups now: opening has looked at the file a moment ago.
func upkeep(ctx context.Context, o options, f *folder,
	check func(context.Context) ([]string, error), log *slog.Logger,
	now time.Time, tick <-chan time.Time) {
	if o.demo {
		return
	}
	for {
		if err := backupIfDue(o, f, now, log); err != nil {
			log.Error("no backup was made; the practice is served all the same", "error", err.Error())
		}
		select {
		case <-ctx.Done():
			return
		case now = <-tick:
		}
		if err := checkIfDue(ctx, f, now, log, check); err != nil {
			log.Error("the practice file was not checked", "error", err.Error())
		}
	}
}

// backupIfDue makes a backup if the newest is too old, or from a future that a wrong clock made.
func backupIfDue(o options, f *folder, now time.Time, log *slog.Logger) error {
	if o.backupEvery == 0 {
		return nil
	}
	last, err := backup.Last(o.backups)
	if err != nil {
		return err
	}
	if age := now.Sub(last); age >= 0 && age < o.backupEvery {
		return nil
	}
	path, err := keepBackup(o, f, now)
	if err != nil {
		return err
	}
	gone, err := backup.Prune(o.backups, o.backupKeep)
	log.Info("made a backup", "file", path, "removed", gone)
	return err
}

// watch calls changed when another process has written to the practice file: a command that shut
// a phone out or erased a record.
func watch(ctx context.Context, s *store.Store, log *slog.Logger, changed func()) {
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	before, err := s.ChangedElsewhere()
	for err == nil {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		var now int64
		if now, err = s.ChangedElsewhere(); err == nil && now != before {
			before = now
			changed()
		}
	}
	log.Error("changes by commands are not watched for", "error", err.Error())
}

// trim keeps the practice file's log of writes short until ctx ends. What may keep it from that is
// a command that reads, and goes on or was stopped in the middle: the server cannot end it.
func trim(ctx context.Context, s *store.Store, every time.Duration, log *slog.Logger) {
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if err := s.TrimLog(); errors.Is(err, store.ErrBusy) {
			log.Warn("the log of writes grows: another program reads the practice file all the time")
		} else if err != nil {
			log.Error("the log of writes was not cut", "error", err.Error())
		}
	}
}
