package main

import (
	"context"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
)

// nobody is a user that this machine has never heard of, as in a container.
const nobody = 8420

// sandbox is what the container file makes, without a program that runs containers: a file system
// that nothing can write to, with the program, the C library and nothing else in it, and one
// folder, /data, of a user who is not root.
type sandbox struct {
	t          *testing.T
	root, data string
}

func newSandbox(t *testing.T) *sandbox {
	t.Helper()
	if os.Getuid() != 0 {
		t.Skip("only root may mount and change users")
	}
	s := &sandbox{t: t, root: filepath.Join(t.TempDir(), "root"),
		data: filepath.Join(t.TempDir(), "data")}
	for _, path := range []string{s.root, s.data} {
		if err := os.Mkdir(path, 0o700); err != nil {
			t.Fatal(err)
		}
	}
	s.mount("tmpfs", s.root, "tmpfs", 0, "mode=755,size=100m")
	folder, err := built()
	if err != nil {
		t.Fatal(err)
	}
	program := filepath.Join(folder, "evenhold")
	s.copy(program, "/evenhold")
	libraries, err := exec.Command("ldd", program).Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range regexp.MustCompile(`/\S+`).FindAllString(string(libraries), -1) {
		s.copy(path, path)
	}
	inside := filepath.Join(s.root, "data")
	if err := os.Mkdir(inside, 0o755); err != nil {
		t.Fatal(err)
	}
	s.mount("tmpfs", s.root, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, "")
	s.mount(s.data, inside, "", syscall.MS_BIND, "")
	return s
}

func (s *sandbox) mount(what, where, kind string, flags uintptr, options string) {
	s.t.Helper()
	if err := syscall.Mount(what, where, kind, flags, options); err != nil {
		s.t.Skipf("nothing can be mounted here: %v", err)
	}
	if flags&syscall.MS_REMOUNT == 0 {
		s.t.Cleanup(func() {
			if err := syscall.Unmount(where, syscall.MNT_DETACH); err != nil {
				s.t.Error(err)
			}
		})
	}
}

func (s *sandbox) copy(from, to string) {
	s.t.Helper()
	content, err := os.ReadFile(from)
	if err != nil {
		s.t.Fatal(err)
	}
	at := filepath.Join(s.root, to)
	if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
		s.t.Fatal(err)
	}
	if err := os.WriteFile(at, content, 0o755); err != nil {
		s.t.Fatal(err)
	}
}

// command is the program in the sandbox, told where things are as the container file does.
func (s *sandbox) command(ctx context.Context, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, "/evenhold", args...)
	c.Env = []string{"EVENHOLD_DATA=/data", "EVENHOLD_ADDR=127.0.0.1:0"}
	c.Dir = "/"
	c.SysProcAttr = &syscall.SysProcAttr{Chroot: s.root,
		Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
	return c
}

// told runs a command to its end and returns its exit code and all it printed.
func (s *sandbox) told(args ...string) (int, string) {
	s.t.Helper()
	c := s.command(s.t.Context(), args...)
	text, err := c.CombinedOutput()
	if c.ProcessState == nil {
		s.t.Fatal(err)
	}
	return c.ProcessState.ExitCode(), string(text)
}

// TestSandbox: without root, and with one folder that it may write to, the server starts, says
// that it is well, is backed up and checked beside, and stops in order; a folder that is not its
// user's is told of.
func TestSandbox(t *testing.T) {
	s := newSandbox(t)
	if code, text := s.told("serve"); code == exitOK ||
		!strings.Contains(text, "must belong to user 8420") {
		t.Errorf("a folder of another user: %d %s", code, text)
	}
	if err := os.Chown(s.data, nobody, nobody); err != nil {
		t.Fatal(err)
	}
	if code, text := s.told("health"); code != exitFaults || !strings.Contains(text, "does not run") {
		t.Errorf("health before the start: %d %s", code, text)
	}
	var log output
	server := s.command(context.Background(), "serve")
	server.Stdout, server.Stderr = &log, &log
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = server.Process.Kill() }) // it has ended if all went well
	url := waitForAddress(t, filepath.Join(s.data, addressName))
	if got := get(t, url+"/readyz"); got != http.StatusOK {
		t.Errorf("readyz: %d", got)
	}
	for _, tt := range []struct {
		args, says string
		code       int
	}{
		{"health", "The server takes work in.", exitOK},
		{"people", "", exitOK},
		{"backup", "/data/backups/evenhold-", exitOK},
		{"check", "All is well.", exitOK},
		{"backup --backups /elsewhere", "read-only file system", exitFailure},
	} {
		code, text := s.told(strings.Fields(tt.args)...)
		if code != tt.code || !strings.Contains(text, tt.says) {
			t.Errorf("%s: %d %s", tt.args, code, text)
		}
	}
	if err := server.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := server.Wait(); err != nil || !strings.Contains(log.String(), "msg=stopped") {
		t.Errorf("%v\n%s", err, log.String())
	}
}
