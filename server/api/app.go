package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strconv"
	"strings"
	"time"
)

// hashedFolder holds the files whose names change with their content.
const hashedFolder = "assets/"

// app serves the built phone app from memory.
type app struct {
	files map[string]file
}

// file is one file and its compressed twins.
type file struct {
	mediaType string
	forever   bool
	tag       string            // differs where the content differs
	bodies    map[string][]byte // by content encoding; "" is the file itself
}

// encodings in order of preference, with the endings of the twins.
var encodings = []struct{ name, ending string }{{"br", ".br"}, {"gzip", ".gz"}, {"", ""}}

func newApp(files fs.FS) (*app, error) {
	a := &app{files: map[string]file{}}
	err := fs.WalkDir(files, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || isTwin(files, name) {
			return err
		}
		f := file{mediaType: mediaType(name), forever: strings.HasPrefix(name, hashedFolder),
			bodies: map[string][]byte{}}
		for _, e := range encodings {
			body, err := fs.ReadFile(files, name+e.ending)
			if errors.Is(err, fs.ErrNotExist) {
				continue
			}
			if err != nil {
				return err
			}
			f.bodies[e.name] = body
		}
		sum := sha256.Sum256(f.bodies[""])
		f.tag = hex.EncodeToString(sum[:8])
		a.files["/"+name] = f
		return nil
	})
	return a, err
}

// isTwin reports whether name is the compressed form of another file.
func isTwin(files fs.FS, name string) bool {
	base := strings.TrimSuffix(strings.TrimSuffix(name, ".br"), ".gz")
	if base == name {
		return false
	}
	_, err := fs.Stat(files, base)
	return err == nil
}

// mediaType does not depend on what the machine has installed.
func mediaType(name string) string {
	switch path.Ext(name) {
	case ".html":
		return "text/html; charset=utf-8"
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".css":
		return "text/css; charset=utf-8"
	case ".wasm":
		return "application/wasm"
	case ".json":
		return "application/json"
	case ".webmanifest":
		return "application/manifest+json"
	case ".woff2":
		return "font/woff2"
	case ".png":
		return "image/png"
	case ".svg":
		return "image/svg+xml"
	case ".txt":
		return "text/plain; charset=utf-8"
	}
	if known := mime.TypeByExtension(path.Ext(name)); known != "" {
		return known
	}
	return "application/octet-stream"
}

// ServeHTTP answers with a file, or with the app's page for any other address a
// person opens: the app knows its own screens.
func (a *app) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "This address only gives files.", http.StatusMethodNotAllowed)
		return
	}
	f, found := a.files[r.URL.Path]
	if !found && strings.Contains(r.Header.Get("Accept"), "text/html") {
		f, found = a.files["/index.html"]
	}
	if !found {
		w.Header().Set("Cache-Control", "no-store")
		http.Error(w, "There is no such file.", http.StatusNotFound)
		return
	}
	f.serve(w, r)
}

func (f file) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Type", f.mediaType)
	h.Add("Vary", "Accept-Encoding")
	// All but hashed names are asked for again each time, the service worker above
	// all: an old one must never keep phones on an old app.
	h.Set("Cache-Control", "no-cache")
	if f.forever {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	encoding := f.encoding(r.Header.Get("Accept-Encoding"))
	if encoding != "" {
		h.Set("Content-Encoding", encoding)
	}
	h.Set("ETag", `"`+f.tag+encoding+`"`)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(f.bodies[encoding]))
}

// encoding picks the smallest form that the header allows (RFC 9110, 2022, section 12.5.3).
func (f file) encoding(accept string) string {
	for _, e := range encodings {
		if _, has := f.bodies[e.name]; has && e.name != "" && accepts(accept, e.name) {
			return e.name
		}
	}
	return ""
}

func accepts(header, encoding string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, weight, _ := strings.Cut(strings.TrimSpace(part), ";")
		if !strings.EqualFold(strings.TrimSpace(name), encoding) {
			continue
		}
		q, found := strings.CutPrefix(strings.TrimSpace(weight), "q=")
		value, err := strconv.ParseFloat(q, 64)
		return !found || err == nil && value > 0
	}
	return false
}
