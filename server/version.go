package main

import (
	"fmt"
	"runtime/debug"

	"github.com/mattn/go-sqlite3"

	"evenhold/server/store"
)

// version returns the module's version and the Go release it was built with.
func version() string {
	info, found := debug.ReadBuildInfo()
	if !found {
		return "evenhold, built without module information"
	}
	return fmt.Sprintf("evenhold %s (%s)", info.Main.Version, info.GoVersion)
}

var versionCommand = command{name: "version", run: runVersion,
	summary:  "print the version and what it is made of",
	about:    "Prints versions; with --sbom every part from outside, as CycloneDX JSON.",
	settings: []string{"sbom"}}

func runVersion(c *call) error {
	if c.said["sbom"] == "true" {
		return writeSBOM(c.out)
	}
	sqlite, _, _ := sqlite3.Version()
	fmt.Fprintf(c.out, "%s\nSQLite %s\ndata version %d\n", version(), sqlite, store.Version())
	return nil
}
