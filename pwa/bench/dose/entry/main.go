//go:build !wasip1

// Command entry is the dose search for the bench; it is built for WebAssembly.
package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "entry runs in the bench: start it with scripts/bench merge")
	os.Exit(2)
}
