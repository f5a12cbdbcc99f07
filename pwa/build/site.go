package main

import (
	"crypto/sha256"
	"encoding/base32"
	"encoding/json"
	"path"
	"path/filepath"
	"sort"
	"strings"
)

// site is what the phone can ask for: the bytes of each file by its path without the first slash.
type site map[string][]byte

// fingerprint names content: ten letters and digits of its SHA-256.
func fingerprint(content []byte) string {
	sum := sha256.Sum256(content)
	return strings.ToLower(base32.StdEncoding.EncodeToString(sum[:])[:10])
}

// addAsset adds a file that never changes and returns the path a page asks for it by.
func (s site) addAsset(name string, content []byte) string {
	ext := path.Ext(name)
	file := "assets/" + strings.TrimSuffix(name, ext) + "." + fingerprint(content) + ext
	s[file] = content
	return "/" + file
}

func (s site) names() []string {
	names := make([]string, 0, len(s))
	for name := range s {
		names = append(names, name)
	}
	sort.Strings(names)
	return names
}

// precacheEntry is one line of the list the service worker keeps; revision is null where the name
// itself changes with the content.
type precacheEntry struct {
	URL      string  `json:"url"`
	Revision *string `json:"revision"`
}

// precache lists what the phone must have to start with no network. Pictures that only a shop
// window shows stay out.
func (s site) precache() (string, error) {
	var list []precacheEntry
	for _, name := range s.names() {
		if strings.HasPrefix(name, "screenshots/") {
			continue
		}
		entry := precacheEntry{URL: "/" + name}
		if !strings.HasPrefix(name, "assets/") {
			revision := fingerprint(s[name])
			entry.Revision = &revision
		}
		list = append(list, entry)
	}
	text, err := json.Marshal(list)
	return string(text), err
}

// assemble makes every file of the app but its compressed variants. The order matters: a file that
// names another is made after it, the service worker, which names all, last.
func assemble(pwa string, core []byte) (site, error) {
	s := site{}
	src := filepath.Join(pwa, "src")
	coreURL := s.addAsset("core.wasm", core)
	worker, err := bundleScript(filepath.Join(src, "worker", "worker.ts"),
		map[string]string{"CORE_URL": quoted(coreURL)})
	if err != nil {
		return nil, err
	}
	workerURL := s.addAsset("worker.js", worker)
	boot, err := bundleScript(filepath.Join(src, "boot.ts"),
		map[string]string{"WORKER_URL": quoted(workerURL)})
	if err != nil {
		return nil, err
	}
	words, err := addWords(s, filepath.Join(pwa, "words"))
	if err != nil {
		return nil, err
	}
	page, err := bundlePage(filepath.Join(src, "main.tsx"), s, words)
	if err != nil {
		return nil, err
	}
	page.boot = s.addAsset("boot.js", boot)
	if err := addIcons(s); err != nil {
		return nil, err
	}
	if err := addManifest(s, filepath.Join(pwa, "static")); err != nil {
		return nil, err
	}
	if err := addIndex(s, filepath.Join(src, "index.html"), page); err != nil {
		return nil, err
	}
	list, err := s.precache()
	if err != nil {
		return nil, err
	}
	sw, err := bundleScript(filepath.Join(src, "sw.ts"), map[string]string{"PRECACHE": list})
	if err != nil {
		return nil, err
	}
	s["sw.js"] = sw
	return s, nil
}

// quoted is text as a JavaScript string.
func quoted(text string) string {
	b, _ := json.Marshal(text) // a string always has a JSON form
	return string(b)
}
