package main

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// startWait is how long a server may take until it answers; a large practice on a slow disk takes
// minutes.
const startWait = 10 * time.Minute

// program builds the server once in a run and returns the path of its binary.
func (b *bench) program() (string, error) {
	if b.binary != "" {
		return b.binary, nil
	}
	if err := b.build(); err != nil {
		return "", err
	}
	binary := filepath.Join(b.folder, "evenhold")
	build := exec.Command("go", "build", "-trimpath", "-o", binary, "./server")
	build.Stderr = os.Stderr
	if err := build.Run(); err != nil {
		return "", fmt.Errorf("build the server: %w", err)
	}
	b.binary = binary
	return binary, nil
}

// served is the built program as a process of its own.
type served struct {
	caller
	cmd    *exec.Cmd
	log    bytes.Buffer
	tookMS float64 // from its start until it was ready
}

// serveFolder starts the program on a data folder and waits until it takes work in.
func serveFolder(binary, data string) (*served, error) {
	s := &served{cmd: exec.Command(binary, "serve", "--addr", "127.0.0.1:0", "--data", data,
		"--backup-every", "0")}
	s.client = &http.Client{Timeout: time.Minute,
		Transport: &http.Transport{MaxIdleConnsPerHost: busyPhones}}
	s.cmd.Stdout, s.cmd.Stderr = &s.log, &s.log
	began := time.Now()
	if err := s.cmd.Start(); err != nil {
		return nil, err
	}
	for time.Since(began) < startWait {
		if s.isReady(filepath.Join(data, "addr.txt")) {
			s.tookMS = float64(time.Since(began)) / 1e6
			return s, nil
		}
		time.Sleep(5 * time.Millisecond)
	}
	return nil, errors.Join(fmt.Errorf("the server does not start: %s", s.log.String()), s.stop())
}

// isReady reports whether it answers at the address that it wrote down.
func (s *served) isReady(addressFile string) bool {
	address, err := os.ReadFile(addressFile)
	if err != nil || !bytes.HasSuffix(address, []byte("\n")) {
		return false
	}
	s.url = "http://" + strings.TrimSpace(string(address))
	response, err := s.client.Get(s.url + "/readyz")
	if err != nil {
		return false
	}
	return response.Body.Close() == nil && response.StatusCode == http.StatusOK
}

// resident returns the bytes of memory that the process has now, and had at most.
func (s *served) resident() (now, most float64, err error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.cmd.Process.Pid))
	if err != nil {
		return 0, 0, fmt.Errorf("memory of the server: %w", err)
	}
	if now, err = statusBytes(string(text), "VmRSS:"); err != nil {
		return 0, 0, err
	}
	most, err = statusBytes(string(text), "VmHWM:")
	return now, most, err
}

// statusBytes reads one line of /proc/PID/status, whose "kB" are of 1024 bytes: proc(5), Linux
// manual pages.
func statusBytes(status, name string) (float64, error) {
	for line := range strings.Lines(status) {
		rest, found := strings.CutPrefix(line, name)
		if !found {
			continue
		}
		number, unit, _ := strings.Cut(strings.TrimSpace(rest), " ")
		kB, err := strconv.ParseFloat(number, 64)
		if err != nil || unit != "kB" {
			break
		}
		return kB * 1024, nil
	}
	return 0, fmt.Errorf("the system tells no %s of the server", name)
}

// stop ends it in order.
func (s *served) stop() error {
	if err := s.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		return err
	}
	if err := s.cmd.Wait(); err != nil {
		return fmt.Errorf("the server ended with %w: %s", err, s.log.String())
	}
	return nil
}
