// Command build makes the phone app: it compiles the core to WebAssembly, bundles the page, the
// worker and the service worker, draws the icons, writes the manifest and puts everything, with
// its compressed variants, into pwa/dist, from where the server embeds it.
//
// Everything under assets/ carries a hash of its content in its name and never changes; all else
// (the page, sw.js, the manifest, the icons) must be asked for anew.
//
// Sizes are bytes; a kB of a budget is 1,000 bytes.
package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"

	"evenhold/pwa/build/corefile"
)

func main() {
	sizes := flag.String("sizes", "text", "print the sizes as text, or as json, one object a line")
	tests := flag.String("tests", "", "only bundle the TypeScript tests, into this folder under pwa")
	flag.Parse()
	if err := run(*sizes, *tests); err != nil {
		fmt.Fprintln(os.Stderr, "build:", err)
		os.Exit(1)
	}
}

func run(sizes, tests string) error {
	root, err := moduleRoot()
	if err != nil {
		return err
	}
	pwa := filepath.Join(root, "pwa")
	if tests != "" {
		return bundleTests(pwa, filepath.Join(pwa, tests))
	}
	core, err := corefile.Compile(root, "./pwa/core")
	if err != nil {
		return err
	}
	site, err := assemble(pwa, core)
	if err != nil {
		return err
	}
	packed, err := pack(site)
	if err != nil {
		return err
	}
	if err := writeAll(filepath.Join(pwa, "dist"), packed); err != nil {
		return err
	}
	return report(os.Stdout, sizes, measure(packed))
}

// moduleRoot is the folder of go.mod, at or above the working folder.
func moduleRoot() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", errors.New("no go.mod here or above: start this inside the project")
		}
		dir = up
	}
}
