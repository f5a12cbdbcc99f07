package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/andybalholm/brotli"
)

// pack adds to each text-like file its brotli and gzip variant, named name.br and name.gz, where
// the variant is smaller.
func pack(s site) (site, error) {
	packed := site{}
	for _, name := range s.names() {
		content := s[name]
		packed[name] = content
		switch path.Ext(name) {
		case ".png", ".woff2": // compressed already
			continue
		}
		br, err := brotliOf(content)
		if err != nil {
			return nil, fmt.Errorf("brotli %s: %w", name, err)
		}
		gz, err := gzipOf(content)
		if err != nil {
			return nil, fmt.Errorf("gzip %s: %w", name, err)
		}
		if len(br) < len(content) {
			packed[name+".br"] = br
		}
		if len(gz) < len(content) {
			packed[name+".gz"] = gz
		}
	}
	return packed, nil
}

// brotliOf compresses at the highest level. That takes ten seconds for the core, so results of
// large files are kept in the user's cache folder under the hash of their input.
func brotliOf(content []byte) ([]byte, error) {
	if len(content) < 200_000 {
		return compressBrotli(content)
	}
	base, err := os.UserCacheDir()
	if err != nil { // no home folder: slower, not worse
		return compressBrotli(content)
	}
	file := filepath.Join(base, "evenhold", fmt.Sprintf("%x.br", sha256.Sum256(content)))
	if kept, err := os.ReadFile(file); err == nil && unpacksTo(kept, content) {
		return kept, nil
	}
	br, err := compressBrotli(content)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		return nil, err
	}
	return br, replaceFile(file, br)
}

// unpacksTo guards against a cache file that was cut short.
func unpacksTo(kept, content []byte) bool {
	var out bytes.Buffer
	_, err := out.ReadFrom(brotli.NewReader(bytes.NewReader(kept)))
	return err == nil && bytes.Equal(out.Bytes(), content)
}

func compressBrotli(content []byte) ([]byte, error) {
	var out bytes.Buffer
	w := brotli.NewWriterLevel(&out, brotli.BestCompression)
	if _, err := w.Write(content); err != nil {
		return nil, err
	}
	err := w.Close()
	return out.Bytes(), err
}

func gzipOf(content []byte) ([]byte, error) {
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(content); err != nil {
		return nil, err
	}
	err = w.Close()
	return out.Bytes(), err
}

// writeAll makes dir hold exactly the files of s (and .keep). Files that did not change are left
// alone and stale ones go last, so that a server compiled meanwhile finds a whole app.
func writeAll(dir string, s site) error {
	for _, name := range s.names() {
		file := filepath.Join(dir, filepath.FromSlash(name))
		if old, err := os.ReadFile(file); err == nil && bytes.Equal(old, s[name]) {
			continue
		}
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			return err
		}
		if err := replaceFile(file, s[name]); err != nil {
			return err
		}
	}
	return filepath.WalkDir(dir, func(file string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, file)
		if err != nil {
			return err
		}
		name = filepath.ToSlash(name)
		if _, wanted := s[name]; wanted || strings.HasPrefix(name, ".keep") {
			return nil
		}
		return os.Remove(file)
	})
}

// replaceFile writes beside the file and renames, so that a reader never sees half of it.
func replaceFile(file string, content []byte) error {
	temp, err := os.CreateTemp(filepath.Dir(file), ".new-")
	if err != nil {
		return err
	}
	defer os.Remove(temp.Name()) // nothing is left to remove once renamed
	_, err = temp.Write(content)
	if closeErr := temp.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		err = os.Chmod(temp.Name(), 0o644)
	}
	if err != nil {
		return err
	}
	return os.Rename(temp.Name(), file)
}
