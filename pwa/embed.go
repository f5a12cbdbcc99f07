// Package pwa holds the built phone app for the server to hand out.
//
// Everything under assets/ has a hash of its content in its name and never changes; index.html
// (also the answer to every unknown page), sw.js, manifest.webmanifest, icons/ and screenshots/
// change with a release. Beside a file may stand name.br and name.gz, its compressed variants.
package pwa

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var built embed.FS

// Lock is the lock file that the app's parts from outside were installed by.
//
//go:embed package-lock.json
var Lock []byte

// Dist is the built app with index.html at its root; before the first build it holds only .keep.
var Dist = dist()

func dist() fs.FS {
	sub, err := fs.Sub(built, "dist")
	if err != nil {
		panic(err) // "dist" is a valid path
	}
	return sub
}
