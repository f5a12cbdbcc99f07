// Package backup makes, checks, puts back and cleans copies of a data folder.
//
// A backup is one file: a compressed tar archive whose first entry, manifest.json, lists what
// follows with its digests; sealed, it is that archive in the age format. Common tools open
// both, so that a practice never depends on this program to reach its own data. What a function
// has returned without an error is on the disk and was read back.
package backup

import (
	"archive/tar"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"filippo.io/age"

	"evenhold/server/durable"
	"evenhold/server/store"
)

// What a caller can act on.
var (
	// ErrDamaged says that a file is no backup or not whole.
	ErrDamaged = errors.New("this is not a whole backup; nothing was changed: try an older one")
	// ErrSealed says that a backup is sealed and no key that was given opens it.
	ErrSealed = errors.New("this backup is sealed and needs its key file: give it with --identity")
)

// Names in an archive and in a data folder.
const (
	manifestName = "manifest.json"
	storeName    = "practice.db"
	format       = 1
)

// Manifest is what an archive says of itself.
type Manifest struct {
	Format  int    `json:"format"`
	MadeMS  int64  `json:"madeMS"` // milliseconds since 1970 UTC
	Program string `json:"program"`
	store.Facts
	Files []File `json:"files"`
}

// File is one file of an archive. Name has slashes and begins at the data folder.
type File struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"` // bytes
	SHA256 string `json:"sha256"`
}

// Made returns when the backup was made.
func (m Manifest) Made() time.Time { return time.UnixMilli(m.MadeMS).UTC() }

// pack writes the files of folder that m lists, m first, to the new file at path. It is whole
// at path or not there.
func pack(folder string, m Manifest, path string, seal []age.Recipient) (err error) {
	draft := path + ".new"
	out, err := os.OpenFile(draft, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer func() {
		_ = out.Close() // closed before, unless something failed
		if err != nil {
			_ = os.Remove(draft) // half a backup helps nobody
		}
	}()
	if err := write(out, folder, m, seal); err != nil {
		return err
	}
	if err := errors.Join(out.Sync(), out.Close()); err != nil {
		return err
	}
	if err := os.Rename(draft, path); err != nil {
		return err
	}
	return durable.Names(filepath.Dir(path))
}

func write(out io.Writer, folder string, m Manifest, seal []age.Recipient) error {
	closers := []io.Closer{}
	if len(seal) > 0 {
		sealed, err := age.Encrypt(out, seal...)
		if err != nil {
			return err
		}
		out, closers = sealed, append(closers, sealed)
	}
	packed := gzip.NewWriter(out)
	archive := tar.NewWriter(packed)
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	err = add(archive, manifestName, int64(len(text)), m.Made(), strings.NewReader(string(text)))
	for _, f := range m.Files {
		if err != nil {
			return err
		}
		err = addFile(archive, folder, f, m.Made())
	}
	err = errors.Join(err, archive.Close(), packed.Close())
	for _, c := range closers {
		err = errors.Join(err, c.Close())
	}
	return err
}

func addFile(archive *tar.Writer, folder string, f File, made time.Time) error {
	content, err := os.Open(filepath.Join(folder, filepath.FromSlash(f.Name)))
	if err != nil {
		return err
	}
	defer content.Close()
	return add(archive, f.Name, f.Size, made, content)
}

func add(archive *tar.Writer, name string, size int64, made time.Time, content io.Reader) error {
	err := archive.WriteHeader(&tar.Header{Name: name, Size: size, Mode: 0o600, ModTime: made})
	if err != nil {
		return err
	}
	_, err = io.Copy(archive, content)
	return err
}

// Peek returns what a backup says of itself after reading all of it. It returns ErrDamaged or
// ErrSealed.
func Peek(path string, keys []age.Identity) (Manifest, error) { return unpack(path, "", keys) }

// unpack reads the backup at path into folder, which must be empty, and holds every file
// against the manifest. With folder "" nothing is written: it is only read.
func unpack(path, folder string, keys []age.Identity) (m Manifest, err error) {
	in, err := os.Open(path)
	if err != nil {
		return m, err
	}
	defer in.Close()
	var content io.Reader = in
	if IsSealed(path) {
		if len(keys) == 0 {
			return m, ErrSealed
		}
		if content, err = age.Decrypt(in, keys...); err != nil {
			return m, fmt.Errorf("%w: %w", ErrSealed, err)
		}
	}
	unzipped, err := gzip.NewReader(content)
	if err != nil {
		return m, fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	if m, err = unpackAll(tar.NewReader(unzipped), folder); err != nil {
		return m, err
	}
	// The rest of the stream carries the checksum of the whole.
	if _, err := io.Copy(io.Discard, unzipped); err != nil {
		return m, fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return m, nil
}

func unpackAll(archive *tar.Reader, folder string) (m Manifest, err error) {
	const most = 1 << 20 // bytes of a manifest
	head, err := archive.Next()
	if err != nil || head.Name != manifestName || head.Size > most {
		return m, fmt.Errorf("%w: it does not begin with a manifest", ErrDamaged)
	}
	if err := json.NewDecoder(io.LimitReader(archive, most)).Decode(&m); err != nil {
		return m, fmt.Errorf("%w: manifest: %w", ErrDamaged, err)
	}
	if m.Format != format {
		return m, fmt.Errorf("%w: a later version of evenhold made it (format %d)",
			store.ErrNewer, m.Format)
	}
	for _, f := range m.Files {
		head, err := archive.Next()
		if err != nil || head.Name != f.Name || head.Size != f.Size {
			return m, fmt.Errorf("%w: %s is missing", ErrDamaged, f.Name)
		}
		if err := unpackFile(archive, folder, f); err != nil {
			return m, err
		}
	}
	return m, nil
}

func unpackFile(content io.Reader, folder string, f File) error {
	name := filepath.FromSlash(f.Name)
	if !filepath.IsLocal(name) {
		return fmt.Errorf("%w: %q lies outside the data folder", ErrDamaged, f.Name)
	}
	out := io.WriteCloser(nopCloser{io.Discard})
	if folder != "" {
		path := filepath.Join(folder, name)
		if err := durable.Folder(filepath.Dir(path)); err != nil {
			return err
		}
		file, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if err != nil {
			return err
		}
		defer func() { _ = file.Close() }() // closed below, unless something failed
		out = syncCloser{file}
	}
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(out, sum), content); err != nil {
		return fmt.Errorf("%w: %s: %w", ErrDamaged, f.Name, err)
	}
	if got := hex.EncodeToString(sum.Sum(nil)); got != f.SHA256 {
		return fmt.Errorf("%w: %s is not what was put in", ErrDamaged, f.Name)
	}
	return out.Close()
}

type nopCloser struct{ io.Writer }

func (nopCloser) Close() error { return nil }

// syncCloser makes sure that a file is on the disk before it is closed.
type syncCloser struct{ *os.File }

func (f syncCloser) Close() error {
	return errors.Join(f.Sync(), f.File.Close(), durable.Names(filepath.Dir(f.Name())))
}

// IsSealed reports whether a backup's name says that it is sealed.
func IsSealed(path string) bool { return strings.HasSuffix(path, sealedEnding) }
