package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"time"

	"evenhold/pwa"
	"evenhold/server/access"
	"evenhold/server/api"
	"evenhold/server/backup"
	"evenhold/server/demo"
	"evenhold/server/live"
	"evenhold/server/store"
)

// Bounds of a connection. There is none on writing an answer: sockets stay open
// and a slow phone may take its time.
const (
	headerWait  = 10 * time.Second
	bodyWait    = 2 * time.Minute
	idleWait    = 2 * time.Minute
	headerBytes = 32 << 10
	drainWait   = 10 * time.Second
)

// fillDemo fills a fresh practice with an example; tests put a smaller one in its place.
var fillDemo = demo.Fill

// serve serves until ctx ends, then stops in order: sockets are told, requests
// finish, everything is in the main file.
func serve(ctx context.Context, o options, out, errOut io.Writer) (err error) {
	level := new(slog.LevelVar)
	level.Set(o.log.level)
	log := newLog(errOut, o.log.format, level)
	defer switching(log, level)()
	f, err := openFolder(o.data, o.demo)
	if err != nil {
		return err
	}
	defer f.close()
	f.warnOfDisk(log)
	if err := errors.Join(backup.CheckFinished(f.path), upgradeBackup(o, f, log)); err != nil {
		return err
	}
	key, err := access.OpenKey(f.file(keyName))
	if err != nil {
		return err
	}
	kept, err := store.Open(f.file(storeName))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, kept.Close()) }()

	d, err := openDoor(o, f, time.Now)
	if err != nil {
		return err
	}
	closing, hub := make(chan struct{}), live.NewHub()
	server, err := api.New(api.Config{
		Store: kept, Key: key, Hub: hub, Now: time.Now, Log: log, Origins: o.origins,
		App: pwa.Dist, Closing: closing, Proxies: o.proxies, Strict: o.door.isPublic(),
		Room: f.room, EmptyAfterDays: o.emptyAfter, Claimed: func() { forgetSetUp(f, log) },
	})
	if err != nil {
		return err
	}
	if err := errors.Join(rememberAddress(f, o.origins, log), o.said.keepStarted(f)); err != nil {
		return err
	}
	if err := d.greet(out); err != nil {
		return err
	}
	if err := offer(ctx, o, f, kept, server.Desk(), out); err != nil {
		return err
	}
	m := &meter{folder: f, backups: o.backups, door: d, counted: server.Metrics, log: log}
	stopMetrics, err := m.open(o.metrics)
	if err != nil {
		return err
	}
	defer stopMetrics()
	defer lookAfter(ctx, o, f, kept, log, server.Recheck)()
	ctx, done := untilUnsafe(ctx, kept)
	defer done()
	return listen(ctx, o, f, log, d, server.Handler(), func() {
		close(closing)
		hub.Close()
	})
}

// untilUnsafe returns a context that also ends when the disk does not write through.
func untilUnsafe(ctx context.Context, s *store.Store) (context.Context, func()) {
	ctx, end := context.WithCancelCause(ctx)
	go func() {
		select {
		case <-s.Failed():
			end(store.ErrUnsafe)
		case <-ctx.Done():
		}
	}()
	return ctx, func() { end(nil) }
}

// listen answers requests until ctx ends, and returns why it did if that was no order to stop.
// closing runs when no new ones are taken.
func listen(ctx context.Context, o options, f *folder, log *slog.Logger, d *door,
	handler http.Handler, closing func()) error {
	listener, err := net.Listen("tcp", o.addr)
	if err != nil {
		return fmt.Errorf("listen: %w; choose another --addr", err)
	}
	address := listener.Addr().String()
	if err := os.WriteFile(f.file(addressName), []byte(address+"\n"), 0o600); err != nil {
		return errors.Join(fmt.Errorf("write the address: %w", err), listener.Close())
	}
	defer func() { _ = os.Remove(f.file(addressName)) }() // a stale one only misleads
	if !o.origins.IsSecure() {
		log.Warn("phones cannot install the app from this public URL or work offline with it:" +
			" browsers ask for https on any name but localhost")
	}
	log.Info("serving", "addr", address, "public_url", o.origins.Public(), "data", f.path)
	server := newServer(handler, log)
	stopPlain, err := d.openPlain(log)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	defer stopPlain()
	go d.watch(ctx, log)
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(d.secure(listener)) }()
	o.supervisor.tell(log, saysReady)
	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	log.Info("stopping")
	o.supervisor.tell(log, saysStopping)
	// ctx is over: the time to drain is its own.
	drain, cancel := context.WithTimeout(context.Background(), drainWait)
	defer cancel()
	closed := make(chan struct{})
	go func() {
		defer close(closed)
		closing() // a phone that does not read can hold this up, but not the rest
	}()
	if err := server.Shutdown(drain); err != nil {
		log.Warn("some requests did not finish in time", "error", err.Error())
		return errors.Join(server.Close(), reason(ctx))
	}
	select {
	case <-closed:
	case <-drain.Done():
		log.Warn("some sockets did not close in time")
	}
	log.Info("stopped")
	return reason(ctx)
}

// reason is why the server stops by itself; nil if it was told to.
func reason(ctx context.Context) error {
	if err := context.Cause(ctx); errors.Is(err, store.ErrUnsafe) {
		return fmt.Errorf("%w: nothing unsafe was acknowledged; look at the disk, then start again", err)
	}
	return nil
}

func newServer(handler http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler: handler, ReadHeaderTimeout: headerWait, ReadTimeout: bodyWait,
		IdleTimeout: idleWait, MaxHeaderBytes: headerBytes,
		ErrorLog: faultLog(log),
	}
}

// offer prints the links by which a new practice, or the example, is entered.
func offer(ctx context.Context, o options, f *folder, s *store.Store, desk *access.Desk,
	out io.Writer) error {
	if o.demo {
		return offerDemo(s, desk, o.origins, out)
	}
	return offerSetUp(ctx, desk, o.origins, f, out)
}

func offerDemo(s *store.Store, desk *access.Desk, origins api.Origins, out io.Writer) error {
	coach, client, err := fillDemo(time.Now(), s, desk)
	if err != nil {
		return fmt.Errorf("fill the example practice: %w", err)
	}
	fmt.Fprintf(out, "\nAn example practice, all of it made up. Each link works once.\n\n"+
		"  as the coach:  %s\n  as a client:   %s\n\n",
		origins.JoinLink(coach), origins.JoinLink(client))
	return nil
}
