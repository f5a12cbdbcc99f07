package main

import (
	"context"
	"fmt"
	"io"
	stdlog "log"
	"log/slog"
	"os"
	"os/signal"
	"strings"
	"syscall"
)

// logLevels are the names of what the log can be asked for, each with all that stands after it.
var logLevels = map[string]slog.Level{"debug": slog.LevelDebug, "info": slog.LevelInfo,
	"warn": slog.LevelWarn, "error": slog.LevelError}

// The forms of a line of the log.
const (
	logText = "text"
	logJSON = "json"
)

// logOptions are the flags that say what the log looks like.
type logOptions struct {
	format string
	level  slog.Level
}

func (v said) logOptions() (o logOptions, err error) {
	o.format = v["log-format"]
	if o.format != logText && o.format != logJSON {
		return o, fmt.Errorf("--log-format %q: choose text or json", o.format)
	}
	level, known := logLevels[v["log-level"]]
	if o.level = level; !known {
		return o, fmt.Errorf("--log-level %q: choose debug, info, warn or error", v["log-level"])
	}
	return o, nil
}

// newLog returns the log of a server, one line for each thing, times in UTC.
func newLog(out io.Writer, format string, level slog.Leveler) *slog.Logger {
	form := &slog.HandlerOptions{Level: level, ReplaceAttr: func(in []string, a slog.Attr) slog.Attr {
		if len(in) == 0 && a.Key == slog.TimeKey {
			a.Value = slog.TimeValue(a.Value.Time().UTC())
		}
		return a
	}}
	if format == logJSON {
		return slog.New(slog.NewJSONHandler(out, form))
	}
	return slog.New(slog.NewTextHandler(out, form))
}

// switching has SIGUSR1 make the log tell everything, and the next one as much as before; the
// function it returns ends that. SIGHUP is left alone: it ends a server whose terminal was closed.
func switching(log *slog.Logger, level *slog.LevelVar) (stop func()) {
	before, other := level.Level(), slog.LevelDebug
	if before == other {
		other = slog.LevelInfo
	}
	asked := make(chan os.Signal, 1)
	signal.Notify(asked, syscall.SIGUSR1)
	ctx, cancel := context.WithCancel(context.Background())
	go func() {
		for {
			select {
			case <-ctx.Done():
				return
			case <-asked:
			}
			level.Set(slog.LevelDebug) // so that what follows is told in any case
			log.Info("the log is switched", "to", other)
			level.Set(other)
			before, other = other, before
		}
	}()
	return func() {
		signal.Stop(asked)
		cancel()
	}
}

// faultLog takes in what net/http says of connections, which names who called: what is passed on
// does not.
func faultLog(log *slog.Logger) *stdlog.Logger { return stdlog.New(callersFaults{log}, "", 0) }

type callersFaults struct{ log *slog.Logger }

func (f callersFaults) Write(b []byte) (int, error) {
	text := string(b)
	what := words(text)
	if at := strings.Index(text, "tls: "); at > len(what) {
		what += words(text[at:])
	}
	f.log.Debug("connection fault", "what", strings.TrimSpace(what))
	return len(b), nil
}

// words is how a text begins, up to the first thing that could be an address or a quoted name.
func words(text string) string {
	end := strings.IndexFunc(text, func(r rune) bool {
		return (r|' ' < 'a' || r|' ' > 'z') && !strings.ContainsRune(" .,:'/-", r)
	})
	if end < 0 {
		return text
	}
	return text[:end]
}
