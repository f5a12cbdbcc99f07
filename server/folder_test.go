package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// TestKindAdvice: network and user-space disks are told of, by the numbers that Linux gives them;
// disks of the machine are not. The numbers are read from linux/magic.h (Debian: linux-libc-dev).
func TestKindAdvice(t *testing.T) {
	header, err := os.ReadFile("/usr/include/linux/magic.h")
	if err != nil {
		t.Skipf("the system's header is not here: %v", err)
	}
	numbers := map[string]int64{}
	define := regexp.MustCompile(`(?m)^#define\s+(\w+)\s+(0x[0-9A-Fa-f]+)`)
	for _, found := range define.FindAllStringSubmatch(string(header), -1) {
		if numbers[found[1]], err = strconv.ParseInt(found[2], 0, 64); err != nil {
			t.Fatal(err)
		}
	}
	for name, want := range map[string]string{
		"NFS_SUPER_MAGIC": "(NFS)", "SMB_SUPER_MAGIC": "(SMB)", "CIFS_SUPER_MAGIC": "(CIFS)",
		"SMB2_SUPER_MAGIC": "(SMB2)", "NCP_SUPER_MAGIC": "(NCP)", "FUSE_SUPER_MAGIC": "(FUSE)",
		"V9FS_MAGIC": "(9P)", "CEPH_SUPER_MAGIC": "(Ceph)", "CODA_SUPER_MAGIC": "(Coda)",
		"AFS_SUPER_MAGIC": "(AFS)", "AFS_FS_MAGIC": "(AFS)",
		"EXT4_SUPER_MAGIC": "", "BTRFS_SUPER_MAGIC": "", "XFS_SUPER_MAGIC": "", "TMPFS_MAGIC": "",
		"F2FS_SUPER_MAGIC": "", "OVERLAYFS_SUPER_MAGIC": "",
	} {
		number, is := numbers[name]
		if !is {
			t.Errorf("the header does not name %s", name)
			continue
		}
		// As an int32, which some systems tell it as, the higher ones are negative.
		for _, told := range []int64{number, int64(int32(number))} {
			got := kindAdvice(syscall.Statfs_t{Type: told})
			if !strings.Contains(got, want) || (got == "") != (want == "") {
				t.Errorf("%s, %#x: %q, want %q in it", name, told, got, want)
			}
		}
	}
}

// TestDisk_UserSpace: on a disk that a program provides, as those that lead to a cloud do, the
// server starts and says in its log what is wrong; the doctor says it too.
func TestDisk_UserSpace(t *testing.T) {
	binder, err := exec.LookPath("bindfs")
	if err != nil {
		t.Skip("bindfs is not installed; scripts/test -long installs it")
	}
	mount := filepath.Join(t.TempDir(), "mount")
	if err := os.Mkdir(mount, 0o700); err != nil {
		t.Fatal(err)
	}
	if text, err := exec.Command(binder, t.TempDir(), mount).CombinedOutput(); err != nil {
		t.Skipf("no such disk can be mounted: %v, %s", err, text)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(mount, 0); err != nil {
			t.Errorf("unmount: %v", err)
		}
	})
	data := filepath.Join(mount, "data")
	r := start(t, data)
	r.url()
	if code := r.end(); code != exitOK {
		t.Errorf("%d %s", code, r.err.String())
	}
	const advice = "lies on a network or user-space file system (FUSE)"
	if !strings.Contains(r.err.String(), "level=WARN") || !strings.Contains(r.err.String(), advice) {
		t.Errorf("the server does not warn:\n%s", r.err.String())
	}
	code, text := told(t, data, "doctor")
	if code != exitFaults || !strings.Contains(text, "LOOK  data folder "+data+": "+advice) {
		t.Errorf("doctor: %d\n%s", code, text)
	}
}
