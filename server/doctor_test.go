package main

import (
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// well is the folder of a practice that has a backup and nobody serves.
func well(t *testing.T) string {
	t.Helper()
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	if r.end() != exitOK {
		t.Fatal(r.err.String())
	}
	must(t, data, "backup")
	return data
}

// pose has the doctor ask an answer of this test for the server's.
func pose(t *testing.T, data string, status int, clock time.Time) {
	t.Helper()
	posing := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Date", clock.UTC().Format(http.TimeFormat))
		w.WriteHeader(status)
	}))
	t.Cleanup(posing.Close)
	put(t, data, addressName, strings.TrimPrefix(posing.URL, "http://")+"\n")
}

func put(t *testing.T, data, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(data, name), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// ailment is a thing that the doctor finds: what it is about, what is said, and how it comes.
type ailment struct {
	about, advice string
	spoil         func(data string)
	more          []string // flags of the doctor
}

func ailments(t *testing.T) []ailment {
	return []ailment{{"", "", func(string) {}, nil},
		{"data folder", "other users", func(data string) {
			if err := os.Chmod(data, 0o755); err != nil {
				t.Fatal(err)
			}
		}, nil},
		{"data folder", "cut off half-way", func(data string) {
			put(t, data, "restore-unfinished", "")
		}, nil},
		{"key", "key", func(data string) { put(t, data, keyName, "short") }, nil},
		{"key", "there is none yet", func(data string) {
			if err := os.Remove(filepath.Join(data, keyName)); err != nil {
				t.Fatal(err)
			}
		}, nil},
		{"backups", "there is none", func(data string) {
			if err := os.RemoveAll(filepath.Join(data, "backups")); err != nil {
				t.Fatal(err)
			}
		}, nil},
		{"backups", "the newest is of 2020-01-01", func(data string) {
			kept := filepath.Join(data, "backups")
			if err := os.RemoveAll(kept); err != nil {
				t.Fatal(err)
			}
			if err := os.Mkdir(kept, 0o700); err != nil {
				t.Fatal(err)
			}
			put(t, kept, "evenhold-2020-01-01T000000.000Z.tar.gz", "")
		}, nil},
		{"practice file", "not a practice file", func(data string) {
			put(t, data, storeName, strings.Repeat("garbage ", 600))
		}, nil},
		{"whole check of 2026-03-02", "faults found: 2, the first: document 7", func(data string) {
			put(t, data, checkedName, "2026-03-02T12:00:00Z\ndocument 7\ndocument 9\n")
		}, nil},
		{"whole check of 2020-01-01", "one a week", func(data string) {
			put(t, data, checkedName, "2020-01-01T00:00:00Z\n")
		}, nil},
		{"address", "https is needed", func(string) {},
			[]string{"--public-url", "http://practice.home.arpa:8420"}},
		{"server", "does not answer", func(data string) { put(t, data, addressName, "127.0.0.1:1\n") },
			nil},
		{"server", "is not ready (503)", func(data string) { pose(t, data, 503, time.Now()) }, nil},
		{"server", "its clock", func(data string) { pose(t, data, 200, time.Now().Add(time.Hour)) },
			nil},
	}
}

// TestDoctor_FindsEachFault breaks one thing at a time: the doctor names it, and says of nothing
// else that was well before that it is not.
func TestDoctor_FindsEachFault(t *testing.T) {
	for _, tt := range ailments(t) {
		data := well(t)
		pose(t, data, http.StatusOK, time.Now())
		tt.spoil(data)
		code, text := told(t, data, append([]string{"doctor"}, tt.more...)...)
		var looks []string
		for line := range strings.Lines(text) {
			if about, isBad := strings.CutPrefix(line, "LOOK  "); isBad &&
				!strings.HasPrefix(about, "disk") && // which is what it is on the machine of the test,
				!strings.HasPrefix(about, "clock") && // as are this
				!strings.Contains(about, "lies on a network") { // and this
				looks = append(looks, about)
			}
		}
		if tt.about == "" {
			if len(looks) != 0 {
				t.Errorf("all is well, but: %q", looks)
			}
			continue
		}
		if code != exitFaults || len(looks) != 1 || !strings.HasPrefix(looks[0], tt.about) ||
			!strings.Contains(looks[0], tt.advice) {
			t.Errorf("%s, %s: %d %q", tt.about, tt.advice, code, looks)
		}
	}
	nowhere := filepath.Join(t.TempDir(), "nowhere")
	if code, text := told(t, nowhere, "doctor"); code != exitFaults ||
		!strings.Contains(text, "is not there") || !strings.Contains(text, "does not run") {
		t.Errorf("no folder: %d\n%s", code, text)
	}
}

// TestDoctor_Clock: a clock that nobody keeps right is told of, by the number that Linux gives that
// state, and by no other. The numbers are read from linux/timex.h (Debian: linux-libc-dev).
func TestDoctor_Clock(t *testing.T) {
	header, err := os.ReadFile("/usr/include/linux/timex.h")
	if err != nil {
		t.Skipf("the system's header is not here: %v", err)
	}
	define := regexp.MustCompile(`(?m)^#define\s+(STA_\w+)\s+(0x[0-9A-Fa-f]+)`)
	states := define.FindAllStringSubmatch(string(header), -1)
	if len(states) < 10 {
		t.Fatalf("the header names %q", states)
	}
	for _, state := range states {
		number, err := strconv.ParseInt(state[2], 0, 32)
		if err != nil {
			t.Fatal(err)
		}
		got := clockAdvice(syscall.Timex{Status: int32(number)})
		if (got != "") != (state[1] == "STA_UNSYNC") {
			t.Errorf("%s: %q", state[1], got)
		}
	}
	data := well(t)
	if _, text := told(t, data, "doctor"); !regexp.MustCompile(`(?m)^(well|LOOK)  clock`).MatchString(
		text) {
		t.Errorf("it says nothing of the clock:\n%s", text)
	}
}

// TestDoctor_SmallDisk: less room than pushes need is said before phones have to wait.
func TestDoctor_SmallDisk(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	if err := os.Mkdir(data, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("tmpfs", data, "tmpfs", 0, "size=12m"); err != nil {
		t.Skipf("no small disk can be mounted: %v", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(data, syscall.MNT_DETACH) })
	code, text := told(t, data, "doctor")
	if code != exitFaults || !strings.Contains(text, "less than 200 MB free") {
		t.Errorf("%d\n%s", code, text)
	}
}

// TestServe_WithoutAWayOut: in a network that leads nowhere the server starts, takes a practice in,
// backs up and is well: it needs nothing from elsewhere, and so tells nobody anything.
func TestServe_WithoutAWayOut(t *testing.T) {
	alone := exec.Command("unshare", "-rn", "sh", "-c", "ip link set lo up && ip route")
	if text, err := alone.CombinedOutput(); err != nil || len(text) != 0 {
		t.Skipf("no network of its own can be made: %v %s", err, text)
	}
	folder, err := built()
	if err != nil {
		t.Fatal(err)
	}
	const script = `ip link set lo up
"$0" serve --addr 127.0.0.1:0 --data "$1" --tls own --public-url https://practice.home.arpa:8420 \
  --plain-addr 127.0.0.1:0 & server=$!
for try in $(seq 600); do [ -s "$1/$2" ] && break; sleep 0.05; done
"$0" backup --data "$1" && "$0" check --data "$1" || exit 1
"$0" doctor --data "$1"
kill -TERM $server && wait $server`
	data := filepath.Join(t.TempDir(), "data")
	run := exec.CommandContext(t.Context(), "unshare", "-rn", "sh", "-c", script,
		filepath.Join(folder, "evenhold"), data, addressName)
	text, err := run.CombinedOutput()
	if err != nil || !strings.Contains(string(text), "msg=stopped") ||
		!strings.Contains(string(text), "well  server") || strings.Contains(string(text), "level=ERROR") {
		t.Errorf("%v\n%s", err, text)
	}
}
