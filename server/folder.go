package main

import (
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"syscall"

	"evenhold/server/durable"
	"evenhold/server/store"
)

// Names in the data folder.
const (
	lockName    = "lock"
	keyName     = "key"
	storeName   = "practice.db"
	linkName    = "setup-link.txt"
	addressName = "addr.txt"
	demoName    = "this-is-a-demo"

	authorityName = "authority.pem"  // certificate and key of the practice's own authority
	publicName    = "public-url.txt" // where phones find this server
	acmeName      = "acme"           // folder of a public certificate
)

// folder is the data folder, held by this process alone.
type folder struct {
	path string
	lock *os.File
}

// openFolder makes the folder at path if there is none, closes it to other users
// and locks it. With demo, what an earlier demo left in it is removed.
func openFolder(path string, demo bool) (*folder, error) {
	if demo {
		path = filepath.Join(path, "demo")
	}
	if err := durable.Folder(path); err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	if err := os.Chmod(path, 0o700); err != nil {
		return nil, fmt.Errorf("data folder: %w", owned(err))
	}
	lock, err := os.OpenFile(filepath.Join(path, lockName), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	f := &folder{path: path, lock: lock}
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.close()
		return nil, fmt.Errorf("data folder %s: another evenhold is using it;"+
			" stop that one first, or give this one a --data folder of its own", path)
	}
	if demo {
		if err := f.clearDemo(); err != nil {
			f.close()
			return nil, err
		}
	}
	return f, nil
}

// owned adds what to do to an error about a data folder of another user.
func owned(err error) error {
	if !errors.Is(err, fs.ErrPermission) {
		return err
	}
	return fmt.Errorf("%w; the folder and all in it must belong to user %d, who runs this: run chown"+
		" on it, or name another folder with --data", err, os.Getuid())
}

func (f *folder) file(name string) string { return filepath.Join(f.path, name) }

// A push is taken in only while the disk has this much room, the lesser of the first two; what is
// left lets people sign in, read and be erased. Our own choice. SQLite moves its log of 1,000
// pages, 4 MB, into the file at once, which may need as much again, on a small disk as well.
const (
	reserveBytes = 200 << 20
	reserveShare = 50 // the disk's size divided by this
	reserveLeast = 8 << 20
)

// disk returns the bytes that are free on the folder's disk, and those that must stay so.
func (f *folder) disk() (free, reserve uint64, err error) {
	var disk syscall.Statfs_t
	if err := syscall.Statfs(f.path, &disk); err != nil {
		return 0, 0, fmt.Errorf("look at the disk: %w", err)
	}
	reserve = max(reserveLeast, min(reserveBytes, disk.Blocks*uint64(disk.Bsize)/reserveShare))
	return disk.Bavail * uint64(disk.Bsize), reserve, nil
}

// farDisks are kinds of disks on which SQLite's log is not safe ("Write-Ahead Logging", SQLite
// documentation: "WAL does not work over a network filesystem"), by the number that statfs(2) tells
// them by (Linux, linux/magic.h).
var farDisks = map[uint32]string{
	0x6969: "NFS", 0x517b: "SMB", 0xff534d42: "CIFS", 0xfe534d42: "SMB2", 0x564c: "NCP",
	0x65735546: "FUSE", 0x01021997: "9P", 0x00c36400: "Ceph", 0x73757245: "Coda",
	0x5346414f: "AFS", 0x6b414653: "AFS",
}

// diskAdvice says what to do about the disk that path lies on; "" if it is fit for the data.
func diskAdvice(path string) string {
	var disk syscall.Statfs_t
	if err := syscall.Statfs(path, &disk); err != nil {
		return fmt.Sprintf("look at the disk: %v", err)
	}
	return kindAdvice(disk)
}

// kindAdvice is diskAdvice for what statfs told.
func kindAdvice(disk syscall.Statfs_t) string {
	kind, isFar := farDisks[uint32(disk.Type)]
	if !isFar {
		return ""
	}
	return "lies on a network or user-space file system (" + kind + "), where a power cut can lose" +
		" data; move it to a disk of this machine"
}

// warnOfDisk tells in the log of a disk that is not fit for the data.
func (f *folder) warnOfDisk(log *slog.Logger) {
	if advice := diskAdvice(f.path); advice != "" {
		log.Warn("the data folder "+advice, "folder", f.path)
	}
}

// room returns store.ErrFull when only the reserve is left.
func (f *folder) room() error {
	free, reserve, err := f.disk()
	if err != nil {
		return err
	}
	if free < reserve {
		return fmt.Errorf("%w: %d MB are free", store.ErrFull, free>>20)
	}
	return nil
}

// close gives the folder up; the system drops the lock with the file.
func (f *folder) close() { _ = f.lock.Close() }

// clearDemo removes the files of an earlier demo, and nothing that is not one.
func (f *folder) clearDemo() error {
	_, markErr := os.Stat(f.file(demoName))
	_, storeErr := os.Stat(f.file(storeName))
	if storeErr == nil && markErr != nil {
		return fmt.Errorf("data folder %s holds a practice that is not a demo;"+
			" nothing was changed: move it away or choose another --data", f.path)
	}
	for _, name := range []string{storeName, storeName + "-wal", storeName + "-shm", linkName} {
		if err := os.Remove(f.file(name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("clear the demo: %w", err)
		}
	}
	return os.WriteFile(f.file(demoName), []byte("Everything here is made up and goes away"+
		" when the demo is started again.\n"), 0o600)
}
