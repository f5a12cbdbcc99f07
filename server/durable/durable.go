// Package durable writes files and folders so that a power cut leaves them whole or not there, and
// does not take back what a function of this package has returned from.
//
// Each of its steps is needed on some file system: "All File Systems Are Not Created Equal", OSDI
// 2014. Its functions are safe for concurrent use on different paths.
package durable

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// Write puts content into the file at path, for this user only, in place of what was there.
func Write(path string, content []byte) (err error) {
	draft := path + ".new"
	f, err := os.OpenFile(draft, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = os.Remove(draft) // the first error is the one to tell
		}
	}()
	_, err = f.Write(content)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(draft, path); err != nil {
		return err
	}
	return Names(filepath.Dir(path))
}

// Names writes a folder's names through: those that were given and those that were taken away.
func Names(folder string) error {
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// Folder makes a folder, for this user only, and those that it lies in, where there is none.
func Folder(path string) error {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil
	}
	parent := filepath.Dir(path)
	if parent != path {
		if err := Folder(parent); err != nil {
			return err
		}
	}
	if err := os.Mkdir(path, 0o700); err != nil {
		info, statErr := os.Stat(path)
		if isMade := errors.Is(err, fs.ErrExist) && statErr == nil && info.IsDir(); !isMade {
			return err // or another process made it meanwhile
		}
	}
	return Names(parent)
}
