// Command core is the phone's half of Evenhold as a WASI reactor: the page's
// worker hands in commands and gets operations to store and views to draw.
//
// Memory of an answer is valid until the next call. There is one App and no
// goroutine; the worker calls in order.
package main

import (
	"runtime"
	"unsafe"

	"evenhold/pwa/core/app"
)

var (
	phone  = app.New()
	input  []byte
	output []byte
)

//go:wasmexport alloc
func alloc(n uint32) uint32 {
	if uint32(cap(input)) < n {
		input = make([]byte, n)
	}
	input = input[:n]
	if n == 0 {
		return 0
	}
	return uint32(uintptr(unsafe.Pointer(&input[0])))
}

// call reads the frame that the worker wrote to the memory alloc gave, and
// returns the answer's place and length in one number.
//
//go:wasmexport call
func call(_, n uint32) uint64 {
	output = phone.Call(input[:n])
	tidy()
	place := uint64(uintptr(unsafe.Pointer(&output[0])))
	return place<<32 | uint64(len(output))
}

// roomBytes is how much may be allocated before the collector is called.
const roomBytes = 6 << 20

var settledBytes uint64 // in use after the last collection

// tidy calls the collector when much was allocated: between calls it gets no time of its own, and
// a row of answers from the server would grow the memory that is never given back.
func tidy() {
	var now runtime.MemStats
	runtime.ReadMemStats(&now)
	if now.HeapAlloc < settledBytes+roomBytes {
		settledBytes = min(settledBytes, now.HeapAlloc)
		return
	}
	runtime.GC()
	runtime.ReadMemStats(&now)
	settledBytes = now.HeapAlloc
}

func main() {}
