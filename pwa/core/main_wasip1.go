// Command core is the phone's half of Evenhold as a WASI reactor: the page's
// worker hands in commands and gets operations to store and views to draw.
//
// Memory of an answer is valid until the next call. There is one App and no
// goroutine; the worker calls in order.
package main

import (
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
	place := uint64(uintptr(unsafe.Pointer(&output[0])))
	return place<<32 | uint64(len(output))
}

func main() {}
