package house

import (
	"strings"
	"testing"
)

// arrow says what the packages of some places never import within the
// repository, and why.
type arrow struct {
	from   []string
	except []string // of from, held by another arrow
	only   []string // if set: nothing of the repository but these
	never  []string
	why    string
}

var arrows = []arrow{
	{from: []string{"sync"}, only: []string{"sync"},
		why: "the merge knows nothing of training: give it kinds and fields as names"},
	{from: []string{"internal"}, only: []string{"internal", "sync"},
		why: "server and phone call the core, never the other way round"},
	{from: []string{"internal/symmetry", "internal/loading", "internal/progression",
		"internal/cues", "internal/reference", "internal/sides", "internal/working",
		"internal/boundary"},
		never: []string{"internal/sessions", "sync"},
		why:   "calculations take and return plain values and know no storage: let the caller read"},
	{from: []string{"internal/sides", "internal/working", "internal/boundary"}, only: []string{},
		why: "everything else stands on these: they stand on nothing"},
	{from: []string{"internal/symmetry", "internal/loading"},
		never: []string{"internal/progression", "internal/cues"},
		why:   "what is measured does not depend on what is advised"},
	{from: []string{"server/store"},
		never: []string{"server/access", "server/api", "server/live", "server/demo", "pwa"},
		why:   "the store keeps rows and asks nobody: who may is for access, who hears is for live"},
	{from: []string{"server/access"},
		never: []string{"server/api", "server/live", "server/demo", "pwa"},
		why:   "whether something is allowed does not depend on the route it came by"},
	{from: []string{"server/backup"},
		never: []string{"server/access", "server/api", "server/live", "server/demo", "pwa"},
		why:   "a backup copies files and knows nobody who uses them"},
	{from: []string{"server/dossier"},
		never: []string{"server/access", "server/api", "server/live", "server/demo", "pwa"},
		why:   "what is held about a person does not depend on who asked for it"},
	{from: []string{"server/live"},
		never: []string{"server/api", "server/access", "server/store", "server/demo", "pwa"},
		why:   "a socket only says news: it reads no record and knows no person"},
	{from: []string{"server/api"}, never: []string{"server/demo", "server/bench", "pwa"},
		why: "routes are handed the phone app's files; demo people are not its business"},
	{from: []string{"server/demo"},
		never: []string{"server/api", "server/live", "server/bench", "pwa"},
		why:   "demo people are records like any others: made by the core, kept by the store"},
	{from: []string{"server", "sync", "internal", "pwa"},
		except: []string{"server/bench", "pwa/core", "pwa/build"},
		never:  []string{"server/bench", "pwa/build", "pwa/core"},
		why:    "commands are run, not imported; the phone's half is run as WebAssembly"},
	{from: []string{"pwa/core"}, never: []string{"server", "pwa/build", "pwa/words"},
		why: "the phone works without a server: what both need belongs in internal or sync"},
	{from: []string{"pwa/build"}, never: []string{"server", "pwa/core", "internal", "sync"},
		why: "the builder packs files and decides nothing about them"},
}

// fault says what is wrong with an import, "" if nothing. Both paths are from the
// top of the repository.
func (a arrow) fault(from, imported string) string {
	if !isUnder(from, a.from...) || isUnder(from, a.except...) {
		return ""
	}
	if a.only != nil && !isUnder(imported, a.only...) || isUnder(imported, a.never...) {
		return a.why
	}
	return ""
}

func TestArrows(t *testing.T) {
	all := list(t, false, "./...")
	all = append(all, list(t, true, "./pwa/core/...")...)
	for _, a := range arrows {
		for _, place := range a.from {
			found := false
			for _, p := range all {
				found = found || isUnder(p.path(), place)
			}
			if !found {
				t.Errorf("an arrow starts at %s, where there is no package", place)
			}
		}
	}
	checked := 0
	for _, p := range all {
		for _, imported := range p.Imports {
			to, own := strings.CutPrefix(imported, module)
			if !own {
				continue
			}
			checked++
			for _, a := range arrows {
				if why := a.fault(p.path(), to); why != "" {
					t.Errorf("%s imports %s: %s", p.path(), to, why)
				}
			}
		}
	}
	if checked < 50 {
		t.Errorf("only %d imports were checked", checked)
	}
}

// TestArrowFaults tries imports that must be refused.
func TestArrowFaults(t *testing.T) {
	tests := []struct{ from, to string }{
		{"sync/record", "internal/sides"}, {"sync/exchange", "server/store"},
		{"internal/sessions", "server/access"}, {"internal/export", "pwa/core/app"},
		{"internal/symmetry", "internal/sessions"}, {"internal/symmetry", "sync/record"},
		{"internal/cues", "internal/sessions"}, {"internal/loading", "sync/clock"},
		{"internal/progression", "internal/sessions"}, {"internal/reference", "sync/record"},
		{"internal/sides", "internal/working"}, {"server/access", "server/api"},
		{"server/store", "server/api"}, {"server/store", "server/live"},
		{"server/live", "server/store"}, {"server/api", "server/demo"},
		{"server", "server/bench"}, {"server", "pwa/core/app"}, {"pwa/core/app", "server/store"},
		{"pwa/core", "server"}, {"pwa/build", "internal/cues"}, {"server/demo", "server/api"},
	}
	for _, tt := range tests {
		refused := false
		for _, a := range arrows {
			refused = refused || a.fault(tt.from, tt.to) != ""
		}
		if !refused {
			t.Errorf("%s may import %s", tt.from, tt.to)
		}
	}
}

// heavy is what must not be linked into the phone's half, directly or through
// anything it uses. The page waits for it on a slow network.
var heavy = map[string]string{
	"encoding/json": "size: internal/boundary reads and writes what passes between page and core",
	"encoding/xml":  "size: write the few lines by hand",
	"encoding/csv":  "size: write the few lines by hand",
	"fmt":           "size: it brings printing, scanning and the os with it; use strconv",
	"os":            "size, and there is no disk: the page stores what the core returns",
	"log":           "size, and nobody reads a log on a phone",
	"net":           "size, and there is no network: the page sends what the core returns",
	"regexp":        "size: use strings",
	"text/template": "size: words are message keys, the page fills them in",
	"html/template": "size: words are message keys, the page fills them in",
	"math/rand":     "the same input must give the same output",
	"math/big":      "size: merged quantities are whole numbers of 64 bits",
	"crypto/rand":   "the page hands random bytes in",
	"context":       "size: nothing waits",
	"compress":      "size: the page and the server pack",
	"database":      "there is no database: the page stores what the core returns",
	"testing":       "tests belong in files that end in _test.go",
}

func TestPhoneLinksNothingHeavy(t *testing.T) {
	linked := list(t, true, "-deps", "./pwa/core")
	hasApp := false
	for _, p := range linked {
		hasApp = hasApp || p.path() == "pwa/core/app"
		for place, why := range heavy {
			if isUnder(p.ImportPath, place) {
				t.Errorf("the phone's half links %s: %s\nfind who with: "+
					"GOOS=wasip1 GOARCH=wasm go list -deps -f '{{.ImportPath}} {{.Imports}}' ./pwa/core",
					p.ImportPath, why)
			}
		}
		if strings.HasPrefix(p.ImportPath, module+"server") {
			t.Errorf("the phone's half links %s: the phone works without a server", p.ImportPath)
		}
	}
	if !hasApp {
		t.Error("pwa/core does not link pwa/core/app: the list is not that of the phone")
	}
}
