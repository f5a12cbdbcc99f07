package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"evenhold/server/store"
)

// listening is the socket of a supervisor.
type listening struct {
	t    *testing.T
	conn *net.UnixConn
}

func listenAs(t *testing.T, name string) listening {
	t.Helper()
	conn, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: name, Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() }) // nothing is written to it
	return listening{t, conn}
}

// next waits for the next thing that is said.
func (l listening) next() string {
	l.t.Helper()
	if err := l.conn.SetReadDeadline(time.Now().Add(45 * time.Second)); err != nil {
		l.t.Fatal(err)
	}
	said := make([]byte, 4096)
	n, err := l.conn.Read(said)
	if err != nil {
		l.t.Fatalf("nothing is said: %v", err)
	}
	return string(said[:n])
}

// until passes over words that all is well.
func (l listening) until(word string) {
	l.t.Helper()
	for said := saysWell; said != word; said = l.next() {
		if said != saysWell {
			l.t.Fatalf("said %q; want %q", said, word)
		}
	}
}

// TestNotify: the built program says that it is ready once it takes work in, then again and again
// that all is well, and before it stops that it will; by a path and by an abstract name. The words
// are those of sd_notify(3), manual of systemd.
func TestNotify(t *testing.T) {
	folder, err := built()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{filepath.Join(t.TempDir(), "notify"),
		fmt.Sprintf("@evenhold-test-%d", os.Getpid())} {
		l := listenAs(t, name)
		data := filepath.Join(t.TempDir(), "data")
		server := exec.Command(filepath.Join(folder, "evenhold"), "serve", "--addr", "127.0.0.1:0",
			"--data", data)
		server.Env = append(os.Environ(), "NOTIFY_SOCKET="+name, "WATCHDOG_USEC=200000")
		if err := server.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = server.Process.Kill() }) // it has ended if all went well
		l.until("READY=1")
		// Whoever waits for this word asks at once.
		if address, err := os.ReadFile(filepath.Join(data, addressName)); err != nil {
			t.Error(err)
		} else if got := get(t, "http://"+strings.TrimSpace(string(address))+
			"/readyz"); got != http.StatusOK {
			t.Errorf("it says that it is ready, and answers %d", got)
		}
		for range 3 {
			if said := l.next(); said != "WATCHDOG=1" {
				t.Errorf("said %q", said)
			}
		}
		if err := server.Process.Signal(syscall.SIGTERM); err != nil {
			t.Fatal(err)
		}
		l.until("STOPPING=1")
		if err := server.Wait(); err != nil {
			t.Error(err)
		}
	}
}

// TestNotify_OnlyWhileTheFileAnswers: a store that fails is not said to be well; one that is held
// for the moment or full is, and so is one that answers again.
func TestNotify_OnlyWhileTheFileAnswers(t *testing.T) {
	l := listenAs(t, filepath.Join(t.TempDir(), "notify"))
	s := supervisor{socket: l.conn.LocalAddr().String()}
	log := slog.New(slog.DiscardHandler)
	answers := []error{store.ErrCorrupt, nil, errors.New("input/output error"),
		fmt.Errorf("probe: %w", store.ErrBusy), store.ErrUnsafe, store.ErrFull, store.ErrCorrupt}
	const well = 3
	ctx, stop := context.WithCancel(t.Context())
	tick, ended, asked := make(chan time.Time), make(chan struct{}), 0
	go func() {
		defer close(ended)
		s.answer(ctx, log, func() error { asked++; return answers[asked-1] }, tick)
	}()
	for range answers {
		tick <- time.Time{}
	}
	stop()
	<-ended
	s.tell(log, saysStopping)
	for range well {
		if said := l.next(); said != "WATCHDOG=1" {
			t.Errorf("said %q", said)
		}
	}
	if said := l.next(); said != "STOPPING=1" || asked != len(answers) {
		t.Errorf("%d answers are good: then it said %q, after %d", well, said, asked)
	}
}

// TestNotify_Environment: half of the time that sd_watchdog_enabled(3) names, and none for another
// process or without a socket.
func TestNotify_Environment(t *testing.T) {
	const socket = "/run/notify"
	own := fmt.Sprint(os.Getpid())
	for _, tt := range []struct {
		socket, limit, process string
		want                   supervisor
		isBad                  bool
	}{
		{"", "", "", supervisor{}, false},
		{"", "120000000", own, supervisor{}, false},
		{socket, "", "", supervisor{socket, 0}, false},
		{socket, "120000000", "", supervisor{socket, time.Minute}, false},
		{socket, "120000000", own, supervisor{socket, time.Minute}, false},
		{socket, "120000000", "1" + own, supervisor{socket, 0}, false},
		{socket, "2min", own, supervisor{}, true},
		{socket, "-4", own, supervisor{}, true},
	} {
		got, err := newSupervisor(func(name string) string {
			return map[string]string{"NOTIFY_SOCKET": tt.socket, "WATCHDOG_USEC": tt.limit,
				"WATCHDOG_PID": tt.process}[name]
		})
		if got != tt.want || (err != nil) != tt.isBad {
			t.Errorf("%+v: %+v, %v", tt, got, err)
		}
	}
	var said output
	gone := supervisor{socket: filepath.Join(t.TempDir(), "gone")}
	gone.tell(slog.New(slog.NewTextHandler(&said, nil)), saysReady)
	if !strings.Contains(said.String(), "was not told") {
		t.Errorf("a supervisor that is not there: %s", said.String())
	}
}
