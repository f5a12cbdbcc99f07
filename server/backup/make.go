package backup

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"evenhold/server/durable"
	"evenhold/server/store"
)

// Parts of a backup's name: evenhold-2026-11-25T101500.000Z.tar.gz, so that names sort by time.
const (
	beginning    = "evenhold-"
	moment       = "2006-01-02T150405.000Z"
	ending       = ".tar.gz"
	sealedEnding = ".tar.gz.age"
)

// Names in a data folder that are no part of a backup: what belongs to a run of the server, and
// copies made earlier.
var leftOut = []string{"lock", "addr.txt", "setup-link.txt", "started-with.conf", "checked.txt",
	"this-is-a-demo", storeName, storeName + "-wal", storeName + "-shm", storeName + "-journal"}

// Folders of copies in a data folder. Backups is where backups go by default.
const (
	Backups        = "backups"
	replacedPrefix = "replaced-"
	workPrefix     = "work-"
)

// Make makes a backup of the data folder in the folder to, sealed for seal if there is any
// recipient, and reads it back. It can run beside a server. It returns the backup's path.
func Make(data, to string, seal []age.Recipient, program string, now time.Time) (string, error) {
	path, err := makeBackup(data, to, seal, program, now)
	if err != nil {
		return "", fmt.Errorf("back up: %w", err)
	}
	return path, nil
}

func makeBackup(
	data, to string, seal []age.Recipient, program string, now time.Time,
) (path string, err error) {
	if err := durable.Folder(to); err != nil {
		return "", err
	}
	work, err := workFolder(data)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	m := Manifest{Format: format, MadeMS: now.UnixMilli(), Program: program}
	m.Facts, err = store.Snapshot(filepath.Join(data, storeName), filepath.Join(work, storeName))
	if err != nil {
		return "", err
	}
	if err := copyOthers(data, work); err != nil {
		return "", err
	}
	if m.Files, err = list(work); err != nil {
		return "", err
	}
	path = filepath.Join(to, beginning+now.UTC().Format(moment)+ending)
	if len(seal) > 0 {
		path = strings.TrimSuffix(path, ending) + sealedEnding
	}
	if err := pack(work, m, path, seal); err != nil {
		return "", err
	}
	if len(seal) > 0 {
		return path, nil // by design only the key's holder can read it back
	}
	_, err = unpack(path, "", nil)
	return path, err
}

// workFolder makes a folder inside the data folder: on the same disk, closed to other users.
func workFolder(data string) (string, error) { return os.MkdirTemp(data, workPrefix) }

// copyOthers copies what lies in the data folder beside the practice file.
func copyOthers(data, to string) error {
	return filepath.WalkDir(data, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(data, path)
		if err != nil {
			return err
		}
		if d.IsDir() {
			if isCopy(name) {
				return fs.SkipDir
			}
			return os.MkdirAll(filepath.Join(to, name), 0o700)
		}
		if !d.Type().IsRegular() || slices.Contains(leftOut, name) {
			return nil
		}
		content, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(to, name), content, 0o600)
	})
}

// isCopy reports whether a folder of the data folder holds copies.
func isCopy(name string) bool {
	return name == Backups || name == "demo" || strings.HasPrefix(name, replacedPrefix) ||
		strings.HasPrefix(name, workPrefix)
}

// list returns the files of a folder with their digests, sorted.
func list(folder string) (files []File, err error) {
	err = filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(folder, path)
		if err != nil {
			return err
		}
		content, err := os.Open(path)
		if err != nil {
			return err
		}
		defer content.Close()
		sum := sha256.New()
		size, err := io.Copy(sum, content)
		if err != nil {
			return err
		}
		files = append(files, File{Name: filepath.ToSlash(name), Size: size,
			SHA256: hex.EncodeToString(sum.Sum(nil))})
		return nil
	})
	return files, err
}

// List returns the paths of the backups in a folder, oldest first; none if there is no folder.
func List(folder string) ([]string, error) {
	entries, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("list backups: %w", err)
	}
	var paths []string
	for _, e := range entries {
		if _, err := MadeAt(e.Name()); err == nil && e.Type().IsRegular() {
			paths = append(paths, filepath.Join(folder, e.Name()))
		}
	}
	return paths, nil
}

// MadeAt returns when the backup of that name was made.
func MadeAt(path string) (time.Time, error) {
	name := strings.TrimPrefix(filepath.Base(path), beginning)
	for _, end := range []string{ending, sealedEnding} {
		if when, found := strings.CutSuffix(name, end); found {
			return time.Parse(moment, when)
		}
	}
	return time.Time{}, fmt.Errorf("%s is not the name of a backup", path)
}

// Last returns when the newest backup in a folder was made; zero if there is none.
func Last(folder string) (time.Time, error) {
	paths, err := List(folder)
	if err != nil || len(paths) == 0 {
		return time.Time{}, err
	}
	return MadeAt(paths[len(paths)-1])
}

// Prune removes all but the newest keep backups of a folder and returns how many went. It keeps
// at least one.
func Prune(folder string, keep int) (gone int, err error) {
	paths, err := List(folder)
	if err != nil {
		return 0, err
	}
	for _, path := range paths[:max(0, len(paths)-max(keep, 1))] {
		if err := os.Remove(path); err != nil {
			return gone, fmt.Errorf("remove an old backup: %w", err)
		}
		gone++
	}
	return gone, nil
}

// Verify reads a whole backup and the practice file in it, and returns what it says of itself.
// work is a folder for the time of reading.
func Verify(path, data string, keys []age.Identity) (m Manifest, err error) {
	work, err := workFolder(data)
	if err != nil {
		return m, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	if m, err = unpack(path, work, keys); err != nil {
		return m, err
	}
	facts, err := store.Read(filepath.Join(work, storeName))
	if err == nil && facts != m.Facts {
		err = fmt.Errorf("%w: its practice file is not the one it tells of", ErrDamaged)
	}
	return m, err
}
