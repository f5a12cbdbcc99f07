package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"strconv"
	"time"

	"evenhold/server/store"
)

// What a supervisor is told: sd_notify(3), manual of systemd.
const (
	saysReady    = "READY=1"
	saysStopping = "STOPPING=1"
	saysWell     = "WATCHDOG=1"
)

// supervisor is who started the server and wants to hear how it is; the zero one does not.
type supervisor struct {
	socket string        // path of a datagram socket, or @ and an abstract name
	wait   time.Duration // between two words that all is well; 0 for none
}

// newSupervisor reads what systemd says in the environment: NOTIFY_SOCKET as in sd_notify(3),
// WATCHDOG_USEC and WATCHDOG_PID as in sd_watchdog_enabled(3), which asks for a word each half of
// that time.
func newSupervisor(env func(string) string) (supervisor, error) {
	s := supervisor{socket: env("NOTIFY_SOCKET")}
	limit, process := env("WATCHDOG_USEC"), env("WATCHDOG_PID")
	if s.socket == "" || limit == "" || process != "" && process != strconv.Itoa(os.Getpid()) {
		return s, nil
	}
	micros, err := strconv.ParseInt(limit, 10, 64)
	if s.wait = time.Duration(micros) * time.Microsecond / 2; err != nil || s.wait <= 0 {
		return supervisor{}, fmt.Errorf("WATCHDOG_USEC is %q; it must be microseconds", limit)
	}
	return s, nil
}

// tell says one thing. A supervisor that cannot be told is no reason to stop.
func (s supervisor) tell(log *slog.Logger, word string) {
	if s.socket == "" {
		return
	}
	conn, err := net.DialUnix("unixgram", nil, &net.UnixAddr{Name: s.socket, Net: "unixgram"})
	if err == nil {
		_, err = conn.Write([]byte(word))
		err = errors.Join(err, conn.Close())
	}
	if err != nil {
		log.Warn("the supervisor was not told", "said", word, "error", err.Error())
	}
}

// watch says that all is well for as long as the store answers, until ctx ends.
func (s supervisor) watch(ctx context.Context, log *slog.Logger, probe func() error) {
	if s.wait == 0 {
		return
	}
	tick := time.NewTicker(s.wait)
	defer tick.Stop()
	s.answer(ctx, log, probe, tick.C)
}

// answer is watch by a clock that is handed in. A file that a command holds for the moment, or a
// disk without room, is an answer: starting again would change neither.
func (s supervisor) answer(
	ctx context.Context, log *slog.Logger, probe func() error, tick <-chan time.Time,
) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick:
		}
		err := probe()
		if err != nil && !errors.Is(err, store.ErrBusy) && !errors.Is(err, store.ErrFull) {
			log.Error("the practice file does not answer, and the supervisor is not told that all is"+
				" well", "error", err.Error())
			continue
		}
		s.tell(log, saysWell)
	}
}
