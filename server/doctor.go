package main

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"evenhold/server/backup"
	"evenhold/server/store"
)

// Bounds of what the doctor calls healthy; our own choice.
const (
	leastFreeBytes = 200 << 20
	mostSkew       = 5 * time.Second
)

// finding is one thing that the doctor looked at. advice is "" when all is well.
type finding struct{ about, advice string }

// runDoctor looks at what usually goes wrong.
func runDoctor(c *call) error {
	o, err := c.options()
	if err != nil {
		return misuse("%v", err)
	}
	findings := []finding{lookAtFolder(o), lookAtKey(c), lookAtDisk(o), lookAtBackups(c, o),
		lookAtStore(c), lookAtCheck(c), lookAtClock(), lookAtAddress(o), lookAtServer(o)}
	findings = append(findings, outside.look(c, o)...)
	bad := false
	for _, f := range findings {
		word := "well  "
		if f.advice != "" {
			word, bad = "LOOK  ", true
		}
		fmt.Fprintln(c.out, strings.TrimRight(word+f.about+": "+f.advice, ": "))
	}
	if bad {
		return errFaults
	}
	return nil
}

func lookAtFolder(o options) finding {
	f := finding{about: "data folder " + o.data}
	info, err := os.Stat(o.data)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f.advice = "is not there; start the server once, or name the right one with --data"
	case err != nil:
		f.advice = err.Error()
	case !info.IsDir():
		f.advice = "is no folder"
	case info.Mode().Perm()&0o077 != 0:
		f.advice = "other users of this machine can look into it; run chmod 700 on it"
	case backup.CheckFinished(o.data) != nil:
		f.advice = backup.ErrUnfinished.Error()
	default:
		f.advice = diskAdvice(o.data)
	}
	return f
}

func lookAtKey(c *call) finding {
	f := finding{about: "key"}
	if _, err := os.Stat(c.path(keyName)); err != nil {
		f.advice = "there is none yet; the server makes one when it starts"
	} else if _, err := c.key(); err != nil {
		f.advice = err.Error()
	}
	return f
}

func lookAtDisk(o options) finding {
	free, err := freeBytes(o.data)
	f := finding{about: fmt.Sprintf("disk, %d MB free", free>>20)}
	if err != nil {
		f.advice = err.Error()
	} else if free < leastFreeBytes {
		f.advice = "less than 200 MB free; make room, or phones will have to wait"
	}
	return f
}

// freeBytes returns the room that this user has left on the disk of a folder.
func freeBytes(path string) (uint64, error) {
	var disk syscall.Statfs_t
	if err := syscall.Statfs(path, &disk); err != nil {
		return 0, fmt.Errorf("look at the disk: %w", err)
	}
	return disk.Bavail * uint64(disk.Bsize), nil
}

func lookAtBackups(c *call, o options) finding {
	f := finding{about: "backups in " + o.backups}
	last, err := backup.Last(o.backups)
	switch {
	case err != nil:
		f.advice = err.Error()
	case last.IsZero():
		f.advice = "there is none; run \"evenhold backup\""
	case c.now.Sub(last) > 2*max(o.backupEvery, 24*time.Hour):
		f.advice = "the newest is of " + last.Format(time.DateTime) + " UTC; look into the server's log"
	}
	return f
}

func lookAtStore(c *call) finding {
	f := finding{about: "practice file"}
	if err := c.with(func(s *store.Store) error { return s.Probe() }); err != nil {
		f.advice = err.Error()
	}
	return f
}

// lookAtCheck tells what the server's own last check of everything found.
func lookAtCheck(c *call) finding {
	last, err := lastCheck(c.said["data"])
	if err != nil {
		return finding{"whole check", err.Error()}
	}
	f := finding{"whole check, none yet", last.advice(c.now)}
	if !last.at.IsZero() {
		f.about = "whole check of " + last.at.Format(time.DateOnly)
	}
	return f
}

// lookAtClock asks the system whether a time server keeps this machine's clock right.
func lookAtClock() finding {
	var told syscall.Timex
	if _, err := syscall.Adjtimex(&told); err != nil {
		return finding{about: "clock: who keeps it right is not to be seen from here"}
	}
	return finding{"clock", clockAdvice(told)}
}

// clockAdvice is lookAtClock for what adjtimex(2) told: STA_UNSYNC says that nobody keeps the clock
// right, or has not for long.
func clockAdvice(told syscall.Timex) string {
	const unkept = 0x40
	if told.Status&unkept == 0 {
		return ""
	}
	return "no time server keeps this machine's clock right, and phones go by it; turn one on, for" +
		" example with \"timedatectl set-ntp true\""
}

func lookAtAddress(o options) finding {
	f := finding{about: "address " + o.origins.Public()}
	if !o.origins.IsSecure() {
		f.advice = "phones cannot install the app from it or work offline: https is needed on any name" +
			" but localhost"
	}
	return f
}

// lookAtServer asks the running server how it is, compares clocks and looks at its certificate.
func lookAtServer(o options) finding {
	f := finding{about: "server"}
	var answer *http.Response
	answer, f.advice = askServer(o.data, o.door.mode, o.origins.Public())
	if f.advice != "" {
		return f
	}
	defer answer.Body.Close()
	said, err := http.ParseTime(answer.Header.Get("Date"))
	if err == nil && time.Since(said).Abs() > mostSkew {
		f.advice = "its clock is not this machine's"
		return f
	}
	if answer.TLS != nil {
		f.advice = endAdvice(answer.TLS.PeerCertificates, time.Now())
	}
	return f
}

// askServer asks the server of a data folder, on this machine, whether it is ready. There is an
// answer, which the caller closes, only if there is no trouble.
func askServer(data, mode, public string) (answer *http.Response, trouble string) {
	address, err := os.ReadFile(filepath.Join(data, addressName))
	if err != nil {
		return nil, "does not run"
	}
	answer, err = askReady(mode, public, strings.TrimSpace(string(address)))
	if err != nil {
		return nil, "does not answer; look into its log: " + err.Error()
	}
	if answer.StatusCode != http.StatusOK {
		_ = answer.Body.Close() // its status is all there is to know
		return nil, fmt.Sprintf("is not ready (%d); look into its log", answer.StatusCode)
	}
	return answer, ""
}

func askReady(mode, public, address string) (*http.Response, error) {
	client := http.Client{Timeout: 5 * time.Second}
	if mode == tlsOff {
		return client.Get("http://" + address + "/readyz")
	}
	name, err := url.Parse(public)
	if err != nil {
		return nil, err
	}
	// The address is this machine's own and nothing is told to whoever answers; whether phones
	// trust the certificate is not to be seen from here.
	client.Transport = &http.Transport{TLSClientConfig: &tls.Config{
		ServerName: name.Hostname(), InsecureSkipVerify: true,
	}}
	return client.Get("https://" + address + "/readyz")
}

// endAdvice says what to do about a chain of certificates of which one has ended or soon will;
// "" if none has.
func endAdvice(chain []*x509.Certificate, now time.Time) string {
	for _, cert := range chain {
		day := cert.NotAfter.Format(time.DateOnly)
		if now.After(cert.NotAfter) {
			return "its certificate ended on " + day + ": phones cannot send; renew it"
		}
		if endsSoon(cert, now) {
			return "its certificate ends on " + day + "; renew it, or look into the log for why it is not"
		}
	}
	return ""
}
