// Command entry is the dose search for the bench, as a WASI reactor: the packages of the phone's
// core, built with the same flags.
package main

import "evenhold/pwa/bench/dose"

var search dose.Search

//go:wasmexport begin
func begin() {
	var err error
	if search, err = dose.New(); err != nil {
		panic(err)
	}
}

// run returns how many doses were compared.
//
//go:wasmexport run
func run() uint32 { return uint32(search.Run()) }

func main() {}
