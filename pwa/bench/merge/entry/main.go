//go:build !wasip1

// Command entry is our own core for the merge's bench; it is built for WebAssembly.
package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "entry runs in the merge's bench: start it with scripts/bench merge")
	os.Exit(2)
}
