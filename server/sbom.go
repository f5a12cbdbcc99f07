package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/mattn/go-sqlite3"

	"evenhold/pwa"
)

// The list of parts is CycloneDX 1.6 (ECMA-424, 1st edition, 2024). It has no time and no serial
// number: the same program lists the same bytes.

// bom is the list.
type bom struct {
	Format     string      `json:"bomFormat"`
	Spec       string      `json:"specVersion"`
	Version    int         `json:"version"`
	Metadata   bomMetadata `json:"metadata"`
	Components []component `json:"components"`
}

type bomMetadata struct {
	Component component `json:"component"`
}

// component is one part. Modules of Go state no licence that a program could read.
type component struct {
	Type       string        `json:"type"`
	Ref        string        `json:"bom-ref"`
	Name       string        `json:"name"`
	Version    string        `json:"version"`
	Licenses   []licensed    `json:"licenses,omitempty"`
	CPE        string        `json:"cpe,omitempty"`
	PURL       string        `json:"purl,omitempty"`
	Properties []bomProperty `json:"properties,omitempty"`
}

type licensed struct {
	License struct {
		ID string `json:"id"`
	} `json:"license"`
}

type bomProperty struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// newComponent returns a part whose package URL serves as its reference.
func newComponent(purlType, name, version, licence string) component {
	// A scope's @ is escaped, its slash is not: package-url specification, "npm".
	purl := "pkg:" + purlType + "/" + strings.ReplaceAll(name, "@", "%40") + "@" +
		url.PathEscape(version)
	c := component{Type: "library", Ref: purl, Name: name, Version: version, PURL: purl}
	if licence != "" {
		c.Licenses = make([]licensed, 1)
		c.Licenses[0].License.ID = licence
	}
	return c
}

// writeSBOM writes the parts of this program and of the phone app in it.
func writeSBOM(out io.Writer) error {
	info, found := debug.ReadBuildInfo()
	if !found {
		return fmt.Errorf("this program was built without module information; build it with go build")
	}
	page, err := pageParts(pwa.Lock)
	if err != nil {
		return err
	}
	sqlite, _, _ := sqlite3.Version()
	file := newComponent("generic", "sqlite", sqlite, "blessing")
	file.CPE = "cpe:2.3:a:sqlite:sqlite:" + sqlite + ":*:*:*:*:*:*:*"
	parts := append(moduleParts(info), file)
	parts = append(parts, page...)
	slices.SortFunc(parts, func(a, b component) int { return cmp.Compare(a.Ref, b.Ref) })
	e := json.NewEncoder(out)
	e.SetIndent("", "  ")
	return e.Encode(bom{Format: "CycloneDX", Spec: "1.6", Version: 1, Components: parts,
		Metadata: bomMetadata{component{Type: "application", Ref: "evenhold", Name: "evenhold",
			Version: info.Main.Version}}})
}

// moduleParts returns Go's standard library and the modules that are linked in; go.sum's hash of
// a module is over its list of files, so it is none of the hashes that CycloneDX knows.
func moduleParts(info *debug.BuildInfo) []component {
	release, _, _ := strings.Cut(info.GoVersion, " ") // behind it stand experiments
	parts := []component{
		newComponent("golang", "std", strings.TrimPrefix(release, "go"), "BSD-3-Clause"),
	}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		c := newComponent("golang", m.Path, m.Version, "")
		if m.Sum != "" {
			c.Properties = []bomProperty{{"go.sum", m.Sum}}
		}
		parts = append(parts, c)
	}
	return parts
}

// pageParts returns the npm packages of the phone app, out of the lock file they were installed by.
func pageParts(lock []byte) ([]component, error) {
	var file struct {
		Packages map[string]struct {
			Version, License string
			Dev              bool
		}
	}
	if err := json.Unmarshal(lock, &file); err != nil {
		return nil, fmt.Errorf("read the lock file of the app: %w", err)
	}
	var parts []component
	for path, p := range file.Packages {
		name, installed := strings.CutPrefix(path, "node_modules/")
		if installed && !p.Dev {
			parts = append(parts, newComponent("npm", name, p.Version, p.License))
		}
	}
	return parts, nil
}
