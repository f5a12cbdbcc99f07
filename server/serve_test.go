package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"evenhold/server/access"
	"evenhold/server/store"
)

// output is what a command has printed so far.
type output struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (o *output) Write(b []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.Write(b)
}

func (o *output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.String()
}

// running is a server started by its command line.
type running struct {
	t        *testing.T
	data     string
	out, err output
	stop     context.CancelFunc
	ended    chan int
}

func noEnv(string) string { return "" }

func start(t *testing.T, data string, args ...string) *running {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r := &running{t: t, data: data, stop: stop, ended: make(chan int, 1)}
	args = append([]string{"serve", "--addr", "127.0.0.1:0", "--data", data}, args...)
	go func() { r.ended <- run(ctx, args, noEnv, &r.out, &r.err) }()
	t.Cleanup(stop)
	return r
}

// url waits until the server listens and returns its address.
func (r *running) url() string {
	r.t.Helper()
	return waitForAddress(r.t, filepath.Join(r.data, addressName))
}

func waitForAddress(t *testing.T, path string) string {
	t.Helper()
	for range 600 {
		if address, err := os.ReadFile(path); err == nil && bytes.HasSuffix(address, []byte("\n")) {
			return "http://" + strings.TrimSpace(string(address))
		}
		time.Sleep(25 * time.Millisecond)
	}
	t.Fatal("the server does not listen")
	return ""
}

func (r *running) end() int {
	r.t.Helper()
	r.stop()
	select {
	case code := <-r.ended:
		return code
	case <-time.After(20 * time.Second):
		r.t.Fatal("the server does not stop")
		return -1
	}
}

func nowMS() int64 { return time.Now().UnixMilli() }

func get(t *testing.T, url string) int {
	t.Helper()
	resp, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	return resp.StatusCode
}

func TestServe_FirstRun(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	url := r.url()
	if got := get(t, url+"/readyz"); got != http.StatusOK {
		t.Errorf("readyz: %d", got)
	}
	for name, mode := range map[string]os.FileMode{".": 0o700, storeName: 0o600, keyName: 0o600,
		linkName: 0o600} {
		if info, err := os.Stat(filepath.Join(data, name)); err != nil || info.Mode().Perm() != mode {
			t.Errorf("%s: %v, %v; want mode %o", name, info, err, mode)
		}
	}
	link, err := os.ReadFile(filepath.Join(data, linkName))
	if err != nil {
		t.Fatal(err)
	}
	text := strings.TrimSpace(string(link))
	if !strings.HasPrefix(text, "http://localhost:8420/join#") ||
		!strings.Contains(r.out.String(), text) || !strings.Contains(r.out.String(), "█") {
		t.Errorf("link %q, printed:\n%s", text, r.out.String())
	}
	if strings.Contains(r.err.String(), text) {
		t.Error("the link is in the log")
	}
	_, code, _ := strings.Cut(text, "#")
	claim := `{"code":"` + code + `","device":"0000000000001","name":"Robin Example",` +
		`"practice":"Example Practice"}`
	resp, err := http.Post(url+"/api/join", "application/json", strings.NewReader(claim))
	if err != nil || resp.StatusCode != http.StatusOK {
		t.Fatalf("claim: %v %v", resp, err)
	}
	if err := resp.Body.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(data, linkName)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the used link is still there: %v", err)
	}
	if code := r.end(); code != exitOK {
		t.Errorf("stopped with %d:\n%s", code, r.err.String())
	}
	if _, err := os.Stat(filepath.Join(data, addressName)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a stopped server still names its address: %v", err)
	}
	again := start(t, data)
	again.url()
	if strings.Contains(again.out.String(), "/join#") {
		t.Error("a claimed practice offers a set-up link")
	}
	if code := again.end(); code != exitOK {
		t.Errorf("stopped with %d:\n%s", code, again.err.String())
	}
}

func TestServe_OneServerAFolder(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	r := start(t, data)
	r.url()
	second := start(t, data)
	select {
	case code := <-second.ended:
		if code != exitFailure || !strings.Contains(second.err.String(), "another evenhold") {
			t.Errorf("second server: %d %s", code, second.err.String())
		}
	case <-time.After(10 * time.Second):
		t.Fatal("two servers on one folder")
	}
	if code := r.end(); code != exitOK {
		t.Errorf("stopped with %d", code)
	}
}

func TestServe_RefusesToStart(t *testing.T) {
	write := func(name, content string) string {
		data := t.TempDir()
		if err := os.WriteFile(filepath.Join(data, name), []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		return data
	}
	tests := []struct {
		name, data, complaint string
		args                  []string
	}{
		{"a short key", write(keyName, "secret"), "key", nil},
		{"a practice file that is none", write(storeName, strings.Repeat("garbage ", 600)),
			"not a practice file", nil},
		{"a file for a folder", filepath.Join(write("x", "y"), "x"), "data folder", nil},
		{"an address in use", t.TempDir(), "another --addr", []string{"--addr", "127.0.0.1:99999"}},
	}
	for _, tt := range tests {
		r := start(t, tt.data, tt.args...)
		select {
		case code := <-r.ended:
			if code != exitFailure || !strings.Contains(r.err.String(), tt.complaint) {
				t.Errorf("%s: %d %s", tt.name, code, r.err.String())
			}
		case <-time.After(10 * time.Second):
			t.Errorf("%s: it starts", tt.name)
		}
	}
}

func TestRun_Usage(t *testing.T) {
	env := func(pairs ...string) func(string) string {
		return func(name string) string {
			for i := 0; i < len(pairs); i += 2 {
				if pairs[i] == name {
					return pairs[i+1]
				}
			}
			return ""
		}
	}
	tests := []struct {
		name      string
		args      []string
		env       func(string) string
		code      int
		complaint string
	}{
		{"nothing", nil, noEnv, exitUsage, "Usage"},
		{"no such command", []string{"swim"}, noEnv, exitUsage, `no command "swim"`},
		{"no such flag", []string{"serve", "--depth", "3"}, noEnv, exitUsage, "-depth"},
		{"a stray word", []string{"serve", "now"}, noEnv, exitUsage, `"now" is not a flag`},
		{"every origin", []string{"serve", "--origins", "*"}, noEnv, exitUsage,
			"not a usable address"},
		{"every origin by environment", []string{"serve"}, env("EVENHOLD_ORIGINS", "https://*"),
			exitUsage, "wildcards"},
		{"a public URL that is none", []string{"serve"}, env("EVENHOLD_PUBLIC_URL", "clinic"),
			exitUsage, "https://practice.example"},
		{"help", []string{"help"}, noEnv, exitOK, ""},
		{"help on serve", []string{"serve", "-h"}, noEnv, exitOK, ""},
		{"version", []string{"version"}, noEnv, exitOK, ""},
	}
	for _, tt := range tests {
		var out, errOut output
		code := run(t.Context(), tt.args, tt.env, &out, &errOut)
		if code != tt.code || !strings.Contains(errOut.String(), tt.complaint) {
			t.Errorf("%s: %d %q", tt.name, code, errOut.String())
		}
		if tt.complaint == "" && !strings.Contains(strings.ToLower(out.String()), "evenhold") {
			t.Errorf("%s prints %q", tt.name, out.String())
		}
	}
}

func TestOptions_FlagsOverEnvironmentOverFile(t *testing.T) {
	data := t.TempDir()
	file := "# comment\n\naddr = 127.0.0.1:2\npublic-url=https://b.example\nbackup-keep = 3\n"
	if err := os.WriteFile(filepath.Join(data, settingsName), []byte(file), 0o600); err != nil {
		t.Fatal(err)
	}
	env := func(name string) string {
		return map[string]string{"EVENHOLD_ADDR": "127.0.0.1:1", "EVENHOLD_DATA": "there",
			"EVENHOLD_PUBLIC_URL": "https://a.example"}[name]
	}
	serving, _ := find("serve")
	args := []string{"--data", data, "--public-url", "https://c.example"}
	values, _, _, err := parse(serving, args, env, io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	o, err := values.options()
	if err != nil || o.addr != "127.0.0.1:1" || o.data != data || o.backupKeep != 3 ||
		o.origins.Public() != "https://c.example" {
		t.Errorf("%+v, %v", o, err)
	}
	values, _, _, err = parse(serving, nil, noEnv, io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	o, err = values.options()
	if err != nil || o.addr != "127.0.0.1:8420" || o.data != "data" || o.demo ||
		o.origins.Public() != "http://localhost:8420" || o.backupEvery != 24*time.Hour {
		t.Errorf("defaults: %+v, %v", o, err)
	}
	for _, line := range []string{"keep = 3", "backup-keep", "data = elsewhere"} {
		if err := os.WriteFile(filepath.Join(data, settingsName), []byte(line), 0o600); err != nil {
			t.Fatal(err)
		}
		_, _, _, err := parse(serving, []string{"--data", data}, noEnv, io.Discard)
		if err == nil || !strings.Contains(err.Error(), "line 1") {
			t.Errorf("%q: %v", line, err)
		}
	}
}

// TestDemo_Folder: a demo begins afresh each time, in a folder of its own, and never removes a
// practice that is not a demo.
func TestDemo_Folder(t *testing.T) {
	filled := 0
	before := fillDemo
	t.Cleanup(func() { fillDemo = before })
	fillDemo = func(_ time.Time, s *store.Store, desk *access.Desk) (coach, client access.Code,
		err error) {
		filled++
		if has, err := s.HasOwner(context.Background()); err != nil || has {
			t.Errorf("the demo does not begin afresh (%v)", err)
		}
		code, _, err := desk.SetUp(context.Background())
		if err != nil {
			return coach, client, err
		}
		_, err = desk.Join("", code.String(), store.Joining{Device: 1, Name: "Robin Example",
			Practice: "Example Practice"})
		return access.NewCode(), access.NewCode(), err
	}
	data := t.TempDir()
	for range 2 {
		r := start(t, data, "--demo")
		waitForAddress(t, filepath.Join(data, "demo", addressName))
		if strings.Count(r.out.String(), "http://localhost:8420/join#") != 2 {
			t.Errorf("printed:\n%s", r.out.String())
		}
		if code := r.end(); code != exitOK {
			t.Errorf("stopped with %d:\n%s", code, r.err.String())
		}
	}
	if filled != 2 {
		t.Errorf("filled %d times", filled)
	}
	if err := os.Remove(filepath.Join(data, "demo", demoName)); err != nil {
		t.Fatal(err)
	}
	r := start(t, data, "--demo")
	select {
	case code := <-r.ended:
		if code != exitFailure || !strings.Contains(r.err.String(), "not a demo") {
			t.Errorf("%d %s", code, r.err.String())
		}
	case <-time.After(10 * time.Second):
		t.Fatal("a practice that is no demo was taken for one")
	}
}

// TestBinary_Signals: the built program stops in order at SIGTERM, and after kill -9 starts again.
func TestBinary_Signals(t *testing.T) {
	folder := t.TempDir()
	program, data := filepath.Join(folder, "evenhold"), filepath.Join(folder, "data")
	if text, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	for _, signal := range []syscall.Signal{syscall.SIGKILL, syscall.SIGTERM, syscall.SIGINT} {
		command := exec.Command(program, "serve", "--addr", "127.0.0.1:0", "--data", data)
		if err := command.Start(); err != nil {
			t.Fatal(err)
		}
		url := waitForAddress(t, filepath.Join(data, addressName))
		if got := get(t, url+"/readyz"); got != http.StatusOK {
			t.Errorf("readyz: %d", got)
		}
		if err := command.Process.Signal(signal); err != nil {
			t.Fatal(err)
		}
		err := command.Wait()
		if signal != syscall.SIGKILL && err != nil {
			t.Errorf("after %v: %v", signal, err)
		}
		if signal != syscall.SIGKILL {
			continue
		}
		if err := os.Remove(filepath.Join(data, addressName)); err != nil {
			t.Fatal(err)
		}
	}
}

// parseOptions returns what serve would be started with.
func parseOptions(args []string, env func(string) string, help io.Writer) (options, error) {
	serving, _ := find("serve")
	values, _, _, err := parse(serving, args, env, help)
	if err != nil {
		return options{}, err
	}
	return values.options()
}

// TestOptions_EmptyAfterDays: phones empty themselves only where it was asked for; what cannot be
// meant ends the start before anything is touched.
func TestOptions_EmptyAfterDays(t *testing.T) {
	serving, _ := find("serve")
	for _, tt := range []struct {
		given string
		want  int
		isOK  bool
	}{{"", 0, true}, {"0", 0, true}, {"30", 30, true}, {"3650", 3650, true},
		{"3651", 0, false}, {"-1", 0, false}, {"a month", 0, false}} {
		env := func(name string) string {
			return map[string]string{"EVENHOLD_EMPTY_AFTER_DAYS": tt.given}[name]
		}
		values, _, _, err := parse(serving, []string{"--data", t.TempDir()}, env, io.Discard)
		if err != nil {
			t.Fatal(err)
		}
		if n, err := values.awayDays(); n != tt.want || (err == nil) != tt.isOK {
			t.Errorf("%q: %d, %v", tt.given, n, err)
		}
	}
	var errOut bytes.Buffer
	args := []string{"serve", "--data", filepath.Join(t.TempDir(), "data"), "--empty-after-days", "x"}
	if code := run(t.Context(), args, noEnv, io.Discard, &errOut); code != exitUsage ||
		!strings.Contains(errOut.String(), "--empty-after-days") {
		t.Errorf("%d %s", code, errOut.String())
	}
}
