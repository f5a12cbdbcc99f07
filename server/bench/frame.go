package main

import (
	"encoding/binary"
	"encoding/json"
	"errors"
)

// appendFrame writes what the core takes: JSON with byte strings behind it, each part after its
// length in four little-endian bytes.
func appendFrame(b []byte, head any, blobs [][]byte) ([]byte, error) {
	text, err := json.Marshal(head)
	if err != nil {
		return nil, err
	}
	for _, part := range append([][]byte{text}, blobs...) {
		b = binary.LittleEndian.AppendUint32(b, uint32(len(part)))
		b = append(b, part...)
	}
	return b, nil
}

// frameHead returns the JSON of a frame.
func frameHead(b []byte) ([]byte, error) {
	if len(b) < 4 || uint64(len(b)-4) < uint64(binary.LittleEndian.Uint32(b)) {
		return nil, errors.New("the core answered with something that is no frame")
	}
	return b[4 : 4+binary.LittleEndian.Uint32(b)], nil
}
