package main

import (
	"encoding/binary"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
)

// The calls that fault/disk.c knows, by its numbers.
const (
	callOpen = iota + 1
	callWrite
	callTruncate
	callSync
	callUnlink
	callRead
)

// sectorBytes is what a disk writes whole or not at all; SQLite counts on no more ("Atomic Commit
// In SQLite", SQLite documentation, section 2).
const sectorBytes = 512

// built compiles the program and the disk once for all tests that need them.
var built = sync.OnceValues(func() (folder string, err error) {
	folder, err = os.MkdirTemp("", "evenhold-fault")
	if err != nil {
		return "", err
	}
	for _, command := range [][]string{
		{"go", "build", "-trimpath", "-o", filepath.Join(folder, "evenhold"), "."},
		{"gcc", "-O2", "-shared", "-fPIC", "-o", filepath.Join(folder, "disk.so"), "fault/disk.c",
			"-ldl", "-lpthread"},
	} {
		text, err := exec.Command(command[0], command[1:]...).CombinedOutput()
		if err != nil {
			return folder, fmt.Errorf("%v: %w\n%s", command, err, text)
		}
	}
	return folder, nil
})

func TestMain(m *testing.M) {
	code := m.Run()
	if folder, _ := built(); folder != "" { // an error was told by whoever needed it
		_ = os.RemoveAll(folder)
	}
	os.Exit(code)
}

// program is the built server as a process of its own, on a disk that remembers and fails.
type program struct {
	*running
	*exec.Cmd
	journal string
	control []byte
}

// launch starts it on a data folder, with a journal that earlier lives may have begun.
func launch(t *testing.T, data, journal string, more ...string) *program {
	t.Helper()
	folder, err := built()
	if err != nil {
		t.Fatal(err)
	}
	p := &program{running: &running{t: t, data: data}, journal: journal}
	control := p.openControl()
	if err := os.Remove(filepath.Join(data, addressName)); err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	args := append([]string{"serve", "--addr", "127.0.0.1:0", "--data", data,
		"--backup-every", "0"}, more...)
	p.Cmd = exec.Command(filepath.Join(folder, "evenhold"), args...)
	p.Stdout, p.Stderr = &p.out, &p.err
	p.Env = append(os.Environ(), "LD_PRELOAD="+filepath.Join(folder, "disk.so"),
		"FAULT_FOLDER="+data, "FAULT_JOURNAL="+journal, "FAULT_CONTROL="+control)
	if err := p.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if p.ProcessState == nil {
			p.kill()
		}
	})
	p.url()
	return p
}

// openControl maps the words by which the disk is told to fail.
func (p *program) openControl() (path string) {
	p.t.Helper()
	f, err := os.CreateTemp(p.t.TempDir(), "control")
	if err != nil {
		p.t.Fatal(err)
	}
	defer f.Close()
	if err := f.Truncate(4096); err != nil {
		p.t.Fatal(err)
	}
	p.control, err = syscall.Mmap(int(f.Fd()), 0, 4096, syscall.PROT_READ|syscall.PROT_WRITE,
		syscall.MAP_SHARED)
	if err != nil {
		p.t.Fatal(err)
	}
	return f.Name()
}

// fail has the call numbered countdown from now fail, and those after it if stays.
func (p *program) fail(call, countdown int, fault syscall.Errno, stays bool) {
	words := []int32{int32(call), int32(countdown), int32(fault), 0, 0}
	switch fault {
	case ends:
		words[2] = -1
	case loses:
		words[2] = -2
	}
	if stays {
		words[3] = 1
	}
	for i, w := range words {
		binary.NativeEndian.PutUint32(p.control[4*i:], uint32(w))
	}
}

// Faults that no system tells of.
const (
	ends  syscall.Errno = 1<<16 + iota // the process ends there
	loses                              // a sync fails, and the process ends before it can act on it
)

// heal ends all faults and returns how many calls failed.
func (p *program) heal() int {
	hits := binary.NativeEndian.Uint32(p.control[16:])
	p.fail(0, 0, 0, false)
	return int(hits)
}

func (p *program) kill() {
	_ = p.Process.Kill() // it may have ended by itself
	_ = p.Wait()         // so its exit code says nothing
}

// written is how far the journal goes.
func (p *program) written() int64 {
	p.t.Helper()
	info, err := os.Stat(p.journal)
	if err != nil {
		p.t.Fatal(err)
	}
	return info.Size()
}

// change is one line of the journal.
type change struct {
	call   uint32
	path   string
	offset int64
	data   []byte
	end    int64 // how far the journal goes with it
}

func readJournal(t *testing.T, path string) (changes []change) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	all := int64(len(b))
	for len(b) >= 24 {
		c := change{call: binary.NativeEndian.Uint32(b), offset: int64(binary.NativeEndian.Uint64(b[8:]))}
		name, n := int(binary.NativeEndian.Uint32(b[4:])), 0
		if c.call == callWrite {
			n = int(binary.NativeEndian.Uint64(b[16:]))
		}
		if len(b) < 24+name+n {
			break // the process was killed as it wrote
		}
		c.path = string(b[24 : 24+name])
		c.data = b[24+name : 24+name+n]
		b = b[24+name+n:]
		c.end = all - int64(len(b))
		changes = append(changes, c)
	}
	return changes
}

// inode is a file of the disk: what is sure, and what the cache still holds.
type inode struct {
	sure    []byte
	pending []change
}

// disk is what a power cut meets: names and contents, sure and not.
type disk struct {
	now, sure map[string]*inode
	deaf      string // files with this ending are not written through: the disk lies
}

// play goes through the journal up to where the power is cut.
func play(changes []change, upTo int64, deaf string) *disk {
	d := &disk{now: map[string]*inode{}, sure: map[string]*inode{}, deaf: deaf}
	for _, c := range changes {
		if c.end > upTo {
			break
		}
		if strings.HasSuffix(c.path, "-shm") {
			continue // memory, not kept
		}
		f := d.now[c.path]
		switch c.call {
		case callOpen:
			if info, err := os.Stat(c.path); f == nil && (err != nil || !info.IsDir()) {
				d.now[c.path] = &inode{}
			}
		case callWrite, callTruncate:
			f.pending = append(f.pending, c)
		case callUnlink:
			delete(d.now, c.path)
		case callSync:
			d.sync(c.path, f, c.offset != 0)
		}
	}
	return d
}

// sync writes a file through, or the folder's names. Where it fails, the system may take what it
// still holds for written: no later sync brings it to the disk, though it can be read until the
// power goes ("Can Applications Recover from fsync Failures?", USENIX Annual Technical Conference,
// 2020).
func (d *disk) sync(path string, f *inode, fails bool) {
	if fails && f != nil {
		f.pending = nil
	}
	if fails {
		return
	}
	if f == nil { // the folder
		d.sure = maps.Clone(d.now)
		return
	}
	if d.deaf != "" && strings.HasSuffix(path, d.deaf) {
		return
	}
	for _, c := range f.pending {
		f.sure = c.apply(f.sure, nil)
	}
	f.pending = nil
}

// apply does a change to a file; with dice, to some of the sectors only.
func (c change) apply(b []byte, dice *rand.Rand) []byte {
	if c.call == callTruncate {
		if n := int(c.offset); n <= len(b) {
			return b[:n]
		}
		return append(b, make([]byte, int(c.offset)-len(b))...)
	}
	for at := 0; at < len(c.data); {
		from := int(c.offset) + at
		n := min(sectorBytes-from%sectorBytes, len(c.data)-at)
		if dice == nil || dice.IntN(2) == 0 {
			if len(b) < from+n {
				b = append(b, make([]byte, from+n-len(b))...)
			}
			copy(b[from:], c.data[at:at+n])
		}
		at += n
	}
	return b
}

// leave writes what the cut left into a folder: only what was written through, or with dice
// also some of the rest, in any order. It returns how many changes were not sure.
func (d *disk) leave(t *testing.T, folder string, dice *rand.Rand) (unsure int) {
	t.Helper()
	both := maps.Clone(d.sure)
	maps.Copy(both, d.now)
	for _, name := range slices.Sorted(maps.Keys(both)) {
		f := d.sure[name]
		if f != d.now[name] && dice != nil && dice.IntN(2) == 0 {
			f = d.now[name]
		}
		if f == nil {
			continue
		}
		content := slices.Clone(f.sure)
		unsure += len(f.pending)
		for _, c := range f.pending {
			if dice != nil && (c.call == callWrite || dice.IntN(2) == 0) {
				content = c.apply(content, dice)
			}
		}
		path := filepath.Join(folder, filepath.Base(name))
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return unsure
}
