package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
)

var follows = flag.Bool("server.trace", false, "follow under strace what the program writes")

// What strace writes of the calls that change a disk, with -f and -y.
var (
	tracedCall = regexp.MustCompile(`^(\d+) +(?:<\.\.\. )?(\w+)(?:\(| resumed>)(.*)$`)
	tracedFD   = regexp.MustCompile(`^\d+<([^>]*)>`)
	tracedName = regexp.MustCompile(`"([^"]*)"`)
)

// drive is what a power cut would take from a disk, as strictly as a file system may: contents
// that were not written through, and names that their folder was not written through with.
type drive struct {
	unsure map[string]bool // contents, by path
	names  map[string]bool // paths
	faults []string        // what took a file's place before its content was sure
}

// replay follows a trace.
func replay(trace string) *drive {
	d := &drive{unsure: map[string]bool{}, names: map[string]bool{}}
	begun := map[string]string{} // by thread: the arguments of a call that was not over yet
	for line := range strings.Lines(trace) {
		found := tracedCall.FindStringSubmatch(strings.TrimSpace(line))
		if found == nil {
			continue
		}
		thread, call, args := found[1], found[2], found[3]
		if first, is := strings.CutSuffix(args, "<unfinished ...>"); is {
			begun[thread] = first
			continue
		}
		if strings.Contains(line, " resumed>") {
			args = begun[thread] + args
		}
		if at := strings.LastIndex(args, ") "); at > 0 && !strings.Contains(args[at:], "= -1") {
			d.follow(call, args[:at])
		}
	}
	return d
}

// follow makes a call that went well.
func (d *drive) follow(call, args string) {
	var file string
	if fd := tracedFD.FindStringSubmatch(args); fd != nil {
		file = fd[1]
	}
	var paths []string
	for _, name := range tracedName.FindAllStringSubmatch(args, -1) {
		paths = append(paths, name[1])
	}
	switch call {
	case "openat":
		if strings.Contains(args, "O_CREAT") {
			d.names[paths[0]] = true
			d.unsure[paths[0]] = true // it may be cut, and nothing be written afterwards
		}
	case "mkdirat":
		d.names[paths[0]] = true
	case "write", "pwrite64", "ftruncate":
		d.unsure[file] = true
	case "fsync", "fdatasync":
		delete(d.unsure, file)
		for path := range d.names {
			if filepath.Dir(path) == file {
				delete(d.names, path)
			}
		}
	case "rename", "renameat", "renameat2":
		from, to := paths[0], paths[1]
		if d.unsure[from] {
			d.faults = append(d.faults, fmt.Sprintf("%s took its place before it was sure", to))
		}
		d.unsure[to] = d.unsure[from]
		delete(d.unsure, from)
		d.names[from], d.names[to] = true, true
	}
}

// TestReplay: each step left out is found.
func TestReplay(t *testing.T) {
	const (
		made   = `7 openat(AT_FDCWD</d>, "/d/key.new", O_WRONLY|O_CREAT, 0600) = 8</d/key.new>` + "\n"
		write  = `7 write(8</d/key.new>, ""..., 32) = 32` + "\n"
		sync   = `7 fsync(8</d/key.new> <unfinished ...>` + "\n" + `7 <... fsync resumed>) = 0` + "\n"
		failed = `7 fsync(8</d/key.new>) = -1 EIO (Input/output error)` + "\n"
		rename = `7 renameat(AT_FDCWD</d>, "/d/key.new", AT_FDCWD</d>, "/d/key") = 0` + "\n"
		names  = `9 fsync(8</d>)         = 0` + "\n"
	)
	for name, tt := range map[string]struct {
		trace                   string
		faults, unsure, unnamed int
	}{
		"all":              {made + write + sync + rename + names, 0, 0, 0},
		"no sync":          {made + write + rename + names, 1, 1, 0},
		"sync failed":      {made + write + failed + rename + names, 1, 1, 0},
		"written after it": {made + sync + write + rename + names, 1, 1, 0},
		"no names":         {made + write + sync + rename, 0, 0, 2},
		"names too early":  {made + write + sync + names + rename, 0, 0, 2},
	} {
		d := replay(tt.trace)
		unsure := 0
		for _, is := range d.unsure {
			if is {
				unsure++
			}
		}
		if len(d.faults) != tt.faults || unsure != tt.unsure || len(d.names) != tt.unnamed {
			t.Errorf("%s: %+v", name, d)
		}
	}
}

// traced runs the program under strace to its end, which stop brings about, and returns the trace.
func traced(t *testing.T, stop func(*exec.Cmd), args ...string) string {
	t.Helper()
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Fatal("strace is not installed; scripts/test -long installs it")
	}
	folder, err := built()
	if err != nil {
		t.Fatal(err)
	}
	trace := filepath.Join(t.TempDir(), "trace")
	// With -D the process started here is the program itself, which gets the signal.
	cmd := exec.Command(strace, append([]string{"-D", "-f", "-y", "-s", "0", "-o", trace, "-e",
		"trace=openat,mkdirat,write,pwrite64,ftruncate,fsync,fdatasync,rename,renameat,renameat2",
		filepath.Join(folder, "evenhold")}, args...)...)
	var said output
	cmd.Stdout, cmd.Stderr = &said, &said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	stop(cmd)
	if err := cmd.Wait(); err != nil {
		t.Fatalf("evenhold %v: %v\n%s", args, err, said.String())
	}
	var text []byte
	end := regexp.MustCompile(fmt.Sprintf(`(?m)^%d +\+\+\+ exited with 0 `, cmd.Process.Pid))
	eventually(t, "the trace has an end", func() bool {
		text, err = os.ReadFile(trace)
		return err == nil && end.Match(text)
	})
	return string(text)
}

// TestWritten_InOrder: what the program itself writes, beside the practice file, is whole or not
// there at whatever moment the power is cut, and stays once the program says that it is done: each
// file is written through before it takes its place, and then its folder ("All File Systems Are Not
// Created Equal", OSDI 2014, shows that some file systems need each of these). SQLite's own files
// are tried by TestPowerCut_NothingAcknowledgedIsMissing.
func TestWritten_InOrder(t *testing.T) {
	if !*follows {
		t.Skip("takes strace and some seconds: -server.trace, which scripts/test -long sets")
	}
	folder := t.TempDir()
	data := filepath.Join(folder, "new", "data")
	toEnd := func(*exec.Cmd) {}
	trace := traced(t, func(cmd *exec.Cmd) {
		eventually(t, "it serves and has made a backup", func() bool {
			_, err := os.Stat(filepath.Join(data, addressName))
			made, _ := filepath.Glob(filepath.Join(data, "backups", "*.tar.gz"))
			return err == nil && len(made) == 1
		})
		_ = cmd.Process.Signal(syscall.SIGTERM) // if it has ended, Wait says so
	}, "serve", "--data", data, "--addr", "127.0.0.1:0", "--tls", "own", "--plain-addr",
		"127.0.0.1:0", "--public-url", "https://practice.home.arpa:8420")
	r := start(t, data, "--tls", "off", "--public-url", "http://localhost:8420")
	r.url()
	_, doc := claimed(t, r)
	if code := r.end(); code != exitOK {
		t.Fatalf("stopped with %d:\n%s", code, r.err.String())
	}
	seal := filepath.Join(folder, "seal.key")
	trace += traced(t, toEnd, "backup", "--data", data, "--new-key", seal)
	trace += traced(t, toEnd, "backup", "--data", data)
	trace += traced(t, toEnd, "erase", "--data", data, "--yes", doc.String())
	made, err := filepath.Glob(filepath.Join(data, "backups", "*.tar.gz"))
	if err != nil || len(made) != 2 {
		t.Fatalf("%v, %v", made, err)
	}
	trace += traced(t, toEnd, "restore", "--data", data, made[0])

	d := replay(trace)
	for _, fault := range d.faults {
		if !strings.Contains(fault, storeName) {
			t.Error(fault)
		}
	}
	backups := filepath.Join(data, "backups")
	for _, path := range append(made, seal, filepath.Dir(data), data,
		filepath.Join(data, keyName), filepath.Join(data, authorityName), backups,
		filepath.Join(backups, "erased.txt")) {
		if _, err := os.Stat(path); err != nil || !strings.Contains(trace, path) {
			t.Errorf("%s was not written: %v", path, err)
		}
		if d.unsure[path] || d.names[path] {
			t.Errorf("a power cut takes the content %v, the name %v of %s", d.unsure[path],
				d.names[path], path)
		}
	}
}
