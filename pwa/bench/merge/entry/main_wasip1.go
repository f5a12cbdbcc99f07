// Command entry is our own core for the merge's bench, as a WASI reactor: the packages that the
// phone's core is made of, built with the same flags. The phone's core itself would have to be
// driven by commands of the running app, which say what training is and check it; the general
// libraries do neither, so the bench calls the merge below that.
//
// Memory of an answer is valid until the next call. A failure panics: the bench is then void.
package main

import (
	"encoding/binary"
	"unsafe"

	"evenhold/internal/boundary"
	"evenhold/pwa/bench/merge/replay"
	"evenhold/pwa/bench/merge/trace"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// What can be asked for.
const (
	doCommit  = iota // a line of the trace as JSON
	doAsk            // a phone's next request
	doAnswer         // the server's answer to a request
	doTake           // a phone takes an answer in: one byte, 1 if it asks again
	doSave           // the whole record of a phone
	doLoad           // a saved record is kept loaded
	doShow           // what was loaded, as JSON
	doKeep           // a phone is stored
	doRestore        // a phone is started anew from what was stored
	doBare           // a message without its operations; an answer after its request
	doDigest         // of a phone's record
)

var (
	house  *replay.House
	loaded *record.Doc
	input  []byte
	output []byte
)

//go:wasmexport alloc
func alloc(n uint32) uint32 {
	if uint32(cap(input)) < n+1 {
		input = make([]byte, n+1)
	}
	input = input[:n]
	return uint32(uintptr(unsafe.Pointer(unsafe.SliceData(input))))
}

// call does one thing for the phone A (0) or B (1) and returns the answer's place and length.
//
//go:wasmexport call
func call(do, phone, n uint32) uint64 {
	var err error
	output, err = answer(do, []string{trace.PhoneA, trace.PhoneB}[phone], input[:n])
	if err != nil {
		panic(err)
	}
	place := uint64(uintptr(unsafe.Pointer(unsafe.SliceData(output))))
	return place<<32 | uint64(len(output))
}

func answer(do uint32, phone string, in []byte) ([]byte, error) {
	switch do {
	case doCommit:
		return nil, commit(in)
	case doAsk:
		return house.Ask(phone), nil
	case doAnswer:
		return house.Answer(in)
	case doTake:
		isMore, err := house.Take(phone, in)
		if isMore {
			return []byte{1}, err
		}
		return []byte{0}, err
	case doSave:
		return wire.AppendSnapshot(nil, house.Record(phone)), nil
	case doLoad:
		var err error
		loaded, err = wire.Snapshot(in)
		return nil, err
	case doShow:
		return replay.Show(loaded), nil
	case doKeep:
		house.Keep(phone)
		return nil, nil
	case doRestore:
		return nil, house.Restore(phone)
	case doBare:
		return house.Bare(in)
	default:
		digest := house.Record(phone).Digest()
		return binary.BigEndian.AppendUint32(digest[:], uint32(house.Record(phone).Len())), nil
	}
}

func commit(in []byte) (err error) {
	var line trace.Line
	if err := boundary.Unmarshal(in, &line); err != nil {
		return err
	}
	if house == nil {
		if house, err = replay.NewHouse(line.AtMS); err != nil {
			return err
		}
	}
	return house.Commit(line)
}

func main() {}
