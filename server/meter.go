package main

import (
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"os"
	"time"

	"evenhold/server/backup"
	"evenhold/server/metrics"
)

// meter is what is measured of a running server.
type meter struct {
	folder  *folder
	backups string
	door    *door
	counted func() []metrics.Metric
	log     *slog.Logger
}

// metricsAddr makes a port alone mean this machine only: the numbers tell how busy a practice is.
// An address that reaches further has to be named.
func metricsAddr(said string) (string, error) {
	if said == "" {
		return "", nil
	}
	host, port, err := net.SplitHostPort(said)
	if err != nil {
		return "", fmt.Errorf("--metrics %q: write it like :8422 for this machine only, or with an"+
			" address of this machine", said)
	}
	if host == "" {
		host = "127.0.0.1"
	}
	return net.JoinHostPort(host, port), nil
}

// open serves the numbers on a listener of their own; the function it returns closes it.
func (m *meter) open(addr string) (stop func(), err error) {
	if addr == "" {
		return func() {}, nil
	}
	listener, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("listen for metrics: %w; choose another --metrics", err)
	}
	m.log.Info("serving metrics", "addr", listener.Addr().String())
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", m)
	server := newServer(mux, m.log)
	server.WriteTimeout = bodyWait
	go func() {
		if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			m.log.Error("metrics are served no more", "error", err.Error())
		}
	}()
	return func() { _ = server.Close() }, nil // nothing of it is worth waiting for
}

func (m *meter) ServeHTTP(w http.ResponseWriter, _ *http.Request) {
	text := metrics.Append(nil, append(m.counted(), m.measured()...))
	w.Header().Set("Content-Type", metrics.ContentType)
	_, _ = w.Write(text) // who has hung up asks again
}

// measured returns what is read afresh each time. A number that cannot be had is left out, and why
// stands in the log: a wrong one would keep an alarm from going off.
func (m *meter) measured() (all []metrics.Metric) {
	add := func(name, help string, read func() (float64, error)) {
		number, err := read()
		if err != nil {
			m.log.Warn("not measured", "metric", name, "error", err.Error())
			return
		}
		all = append(all, metrics.One(name, metrics.Gauge, help, number))
	}
	add("evenhold_database_bytes", "Bytes of the practice file.",
		func() (float64, error) { return fileBytes(m.folder.file(storeName)) })
	add("evenhold_wal_bytes", "Bytes of the practice file's log of writes.",
		func() (float64, error) { return fileBytes(m.folder.file(storeName + "-wal")) })
	add("evenhold_disk_free_bytes", "Bytes free on the data folder's disk.",
		func() (float64, error) {
			free, _, err := m.folder.disk()
			return float64(free), err
		})
	add("evenhold_disk_reserve_bytes", "Bytes that must stay free: below, phones' pushes wait.",
		func() (float64, error) {
			_, reserve, err := m.folder.disk()
			return float64(reserve), err
		})
	add("evenhold_last_backup_timestamp_seconds",
		"When the newest backup was made, in seconds since 1970; 0 for none.",
		func() (float64, error) {
			last, err := backup.Last(m.backups)
			return unixSeconds(last), err
		})
	add("evenhold_last_check_timestamp_seconds",
		"When the practice file was last checked as a whole, in seconds since 1970; 0 for never.",
		func() (float64, error) {
			last, err := lastCheck(m.folder.path)
			return unixSeconds(last.at), err
		})
	add("evenhold_last_check_faults", "Faults that the last whole check found.",
		func() (float64, error) {
			last, err := lastCheck(m.folder.path)
			return float64(len(last.faults)), err
		})
	if end, has := m.door.end(); has {
		add("evenhold_certificate_end_timestamp_seconds",
			"When the certificate ends, in seconds since 1970; 0 while there is none.",
			func() (float64, error) { return unixSeconds(end), nil })
	}
	return all
}

func unixSeconds(t time.Time) float64 {
	if t.IsZero() {
		return 0
	}
	return float64(t.Unix())
}

// fileBytes is the length of a file, 0 if there is none.
func fileBytes(path string) (float64, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	return float64(info.Size()), nil
}
