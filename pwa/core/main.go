//go:build !wasip1

// Command core is the phone's half of Evenhold; it is built for WebAssembly.
package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "core runs in a phone's worker: build it with GOOS=wasip1 GOARCH=wasm")
	os.Exit(2)
}
