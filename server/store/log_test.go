package store

import (
	"context"
	"database/sql"
	"errors"
	"flag"
	"os"
	"strings"
	"testing"
	"time"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

var logMB = flag.Int("store.log", 20, "megabytes written beside a reader that never ends")

// logBytes is how long the log of writes is.
func logBytes(t *testing.T, s *Store) int64 {
	t.Helper()
	info, err := os.Stat(s.path + "-wal")
	if errors.Is(err, os.ErrNotExist) {
		return 0
	}
	if err != nil {
		t.Fatal(err)
	}
	return info.Size()
}

// writer pushes a megabyte at a time.
type writer struct {
	*pen
	s     *Store
	m     Member
	chain [32]byte // after the last push
}

func (w *writer) writeMB(t *testing.T) {
	t.Helper()
	w.ops, w.doc = nil, record.NewDoc(w.NextID()) // or the test is slower with each
	for range 1_000_000 / record.MaxTextBytes {
		w.write(t, strings.Repeat("x", record.MaxTextBytes))
	}
	q := wire.Request{Schema: wire.Schema, Device: w.Device(), Push: w.ops,
		PushFrom: w.ops[0].Seq - 1, Chain: w.chain}
	nowMS := noon + int64(q.PushFrom/(MaxDayOps/2))*dayMS // within a day's share
	got, err := w.s.Push(q, w.m, allow, nowMS)
	if err != nil || got.Problem != "" {
		t.Fatal(err, got.Problem)
	}
	w.chain = got.State.Chain
}

// hanging is a reader that looks at one row and then at nothing until it is let go.
type hanging struct {
	letGo chan struct{}
	ended chan error
}

func hang(ctx context.Context, s *Store) hanging {
	h := hanging{make(chan struct{}), make(chan error, 1)}
	reading := make(chan struct{})
	go func() {
		h.ended <- s.read(ctx, func(tx *sql.Tx) error {
			rows, err := tx.Query("SELECT n FROM ops")
			if err != nil {
				return err
			}
			defer rows.Close()
			rows.Next()
			close(reading)
			<-h.letGo
			for rows.Next() {
			}
			return rows.Err()
		})
	}()
	<-reading
	return h
}

// TestRead_NeverEnds: a reader that hangs makes the log of writes grow ("Write-Ahead Logging",
// SQLite documentation, section 6, "checkpoint starvation"), but only until its time is over: then
// the log is cut although it still hangs, stays short whatever is written, and the reader is told.
// -store.log 200 is the long run.
func TestRead_NeverEnds(t *testing.T) {
	s := openNew(t)
	w := &writer{pen: newPen(7), s: s, m: enrol(t, s, sessions.Owner, record.ID{}, 7)}
	if _, err := s.writer.Exec("PRAGMA busy_timeout = 10"); err != nil { // or each try takes 5 s
		t.Fatal(err)
	}
	w.writeMB(t)
	ctx, giveUp := context.WithCancel(t.Context())
	h := hang(ctx, s)
	written := 1
	for ; logBytes(t, s) <= LogMost && written < *logMB; written++ {
		w.writeMB(t)
	}
	if err := s.TrimLog(); !errors.Is(err, ErrBusy) {
		t.Errorf("while a reader has time left: %v, %d bytes of log", err, logBytes(t, s))
	}
	giveUp()
	close(h.letGo)
	<-h.ended // with an error, or done in the same moment

	s.readMost = 50 * time.Millisecond
	h = hang(t.Context(), s)
	for err := ErrBusy; err != nil; err = s.TrimLog() { // the test ends by its own time limit
		if !errors.Is(err, ErrBusy) {
			t.Fatal(err)
		}
	}
	most := int64(0)
	for ; written < *logMB; written++ {
		w.writeMB(t)
		if err := s.TrimLog(); err != nil {
			t.Fatal(err)
		}
		most = max(most, logBytes(t, s))
	}
	t.Logf("%d MB written; the log had %d bytes at most once the time was over", written, most)
	if most > LogMost {
		t.Errorf("the log has %d bytes, want at most %d", most, LogMost)
	}
	close(h.letGo)
	if err := <-h.ended; !errors.Is(err, ErrBusy) {
		t.Errorf("the reader that hung: %v, want %v", err, ErrBusy)
	}
}
