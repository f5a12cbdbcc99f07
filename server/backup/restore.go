package backup

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"evenhold/server/durable"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// unfinishedName marks a data folder in which a restore has begun to move files.
const unfinishedName = "restore-unfinished"

// ErrUnfinished says that a restore was cut off half-way.
var ErrUnfinished = errors.New("a restore of this data folder was cut off half-way;" +
	" nothing is lost: give the restore command once more")

// CheckFinished returns ErrUnfinished for a data folder that must not be served.
func CheckFinished(data string) error {
	if _, err := os.Stat(filepath.Join(data, unfinishedName)); err == nil {
		return ErrUnfinished
	}
	return nil
}

// Restore puts the backup at path in place of what is in the data folder, which the caller holds
// alone. What was there is kept in a folder beside it, whose path is returned; "" if there was
// nothing. The practice file begins a new epoch, so that phones push again what the backup lacks,
// and everyone who was erased since, as far as the folder or the list beside the backup says, is
// erased from it first.
func Restore(path, data string, keys []age.Identity, now time.Time) (kept string, err error) {
	if kept, err = restore(path, data, keys, now); err != nil {
		return "", fmt.Errorf("restore: %w", err)
	}
	return kept, nil
}

func restore(path, data string, keys []age.Identity, now time.Time) (kept string, err error) {
	work, err := workFolder(data)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	if _, err := unpack(path, work, keys); err != nil {
		return "", err
	}
	if _, err := store.Read(filepath.Join(work, storeName)); err != nil {
		return "", err
	}
	erased, err := erasedSince(data, filepath.Dir(path))
	if err != nil {
		return "", err
	}
	begin := func(s *store.Store) error { return s.Live(now.UnixMilli()) }
	if err := renewFile(filepath.Join(work, storeName), erased, now, begin); err != nil {
		return "", err
	}
	kept = filepath.Join(data, replacedPrefix+now.UTC().Format(moment))
	if err := swap(data, work, kept); err != nil {
		return "", err
	}
	if os.Remove(kept) == nil { // it goes only where it is empty: there was nothing to keep
		kept = ""
	}
	return kept, nil
}

// renewFile opens the practice file at path, erases from it, and calls then.
func renewFile(
	path string, erased []record.ID, now time.Time, then func(*store.Store) error,
) error {
	s, err := store.Open(path)
	if err != nil {
		return err
	}
	for _, doc := range erased {
		err = errors.Join(err, s.EraseFromCopy(doc, now.UnixMilli()))
	}
	if len(erased) > 0 && err == nil {
		err = s.Scrub()
	}
	if err == nil {
		err = then(s)
	}
	return errors.Join(err, s.Close())
}

// swap moves what is in data to kept and what is in work to data. The practice file comes last
// in, and until it is there a marker says that the folder must not be served.
func swap(data, work, kept string) error {
	if err := os.MkdirAll(kept, 0o700); err != nil {
		return err
	}
	marker := filepath.Join(data, unfinishedName)
	text := []byte("Give the restore command once more.\n")
	if err := os.WriteFile(marker, text, 0o600); err != nil {
		return err
	}
	if err := durable.Names(data); err != nil {
		return err
	}
	if err := moveAll(data, kept); err != nil {
		return err
	}
	if err := moveAll(work, data); err != nil {
		return err
	}
	if err := errors.Join(durable.Names(kept), durable.Names(data)); err != nil {
		return err
	}
	if err := os.Remove(marker); err != nil {
		return err
	}
	return durable.Names(data)
}

// moveAll moves everything but copies, the lock and the marker.
func moveAll(from, to string) error {
	entries, err := os.ReadDir(from)
	if err != nil {
		return err
	}
	// The practice file last: without it a folder looks new, with it whole.
	slices.SortStableFunc(entries, func(a, b fs.DirEntry) int {
		return boolCompare(a.Name() == storeName, b.Name() == storeName)
	})
	for _, e := range entries {
		name := e.Name()
		if e.IsDir() && isCopy(name) || name == "lock" || name == unfinishedName {
			continue
		}
		if err := os.Rename(filepath.Join(from, name), filepath.Join(to, name)); err != nil {
			return err
		}
	}
	return nil
}

func boolCompare(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// erasedName is the list of erased documents that is kept beside the practice file and beside
// the backups: a backup from before an erasure does not know of it.
const erasedName = "erased.txt"

// erasedSince gathers what was erased from the lists in folders and from the practice file of the
// first, if it can be read.
func erasedSince(folders ...string) (docs []record.ID, err error) {
	known := map[record.ID]bool{}
	if s, err := store.OpenPresent(filepath.Join(folders[0], storeName)); err == nil {
		erased, readErr := s.Erased(context.Background())
		if err := errors.Join(readErr, s.Close()); err == nil {
			for _, doc := range erased {
				known[doc] = true
			}
		}
	}
	for _, folder := range folders {
		text, err := os.ReadFile(filepath.Join(folder, erasedName))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		for line := range strings.FieldsSeq(string(text)) {
			doc, err := record.ParseID(line)
			if err != nil {
				return nil, fmt.Errorf("%s in %s: %q: %w", erasedName, folder, line, err)
			}
			known[doc] = true
		}
	}
	for doc := range known {
		docs = append(docs, doc)
	}
	slices.SortFunc(docs, record.ID.Compare)
	return docs, nil
}

// Remember adds an erased document to the lists in the folders.
func Remember(doc record.ID, folders ...string) error {
	for _, folder := range folders {
		if err := durable.Folder(folder); err != nil {
			return fmt.Errorf("list the erasure: %w", err)
		}
		path := filepath.Join(folder, erasedName)
		f, err := os.OpenFile(path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
		if err != nil {
			return fmt.Errorf("list the erasure: %w", err)
		}
		_, err = f.WriteString(doc.String() + "\n")
		if err := errors.Join(err, f.Sync(), f.Close(), durable.Names(folder)); err != nil {
			return fmt.Errorf("list the erasure: %w", err)
		}
	}
	return nil
}

// Clean erases a document from the copies there are: backups in the folder to, and folders kept
// by a restore in data. Sealed backups cannot be opened here: their paths are returned.
func Clean(doc record.ID, data, to string, now time.Time) (sealed []string, err error) {
	paths, err := List(to)
	if err != nil {
		return nil, err
	}
	for _, path := range paths {
		if IsSealed(path) {
			sealed = append(sealed, path)
			continue
		}
		if err := cleanBackup(path, data, doc, now); err != nil {
			return sealed, fmt.Errorf("erase from %s: %w", path, err)
		}
	}
	kept, err := filepath.Glob(filepath.Join(data, replacedPrefix+"*", storeName))
	if err != nil {
		return sealed, err
	}
	for _, path := range kept {
		if err := renewFile(path, []record.ID{doc}, now, nothing); err != nil {
			return sealed, fmt.Errorf("erase from %s: %w", path, err)
		}
	}
	return sealed, nil
}

func nothing(*store.Store) error { return nil }

// cleanBackup writes a backup anew without a document.
func cleanBackup(path, data string, doc record.ID, now time.Time) (err error) {
	work, err := workFolder(data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	m, err := unpack(path, work, nil)
	if err != nil {
		return err
	}
	file := filepath.Join(work, storeName)
	if err := renewFile(file, []record.ID{doc}, now, nothing); err != nil {
		return err
	}
	if m.Facts, err = store.Read(file); err != nil {
		return err
	}
	// Closed in order it leaves none, but what is left of a log is no part of a backup.
	for _, name := range []string{storeName + "-wal", storeName + "-shm"} {
		if err := os.Remove(filepath.Join(work, name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	if m.Files, err = list(work); err != nil {
		return err
	}
	return pack(work, m, path, nil)
}
