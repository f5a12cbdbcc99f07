package app

import (
	"encoding/binary"
	"errors"

	"evenhold/internal/boundary"
)

// errFrame is returned for bytes that are not a frame.
var errFrame = errors.New("not a frame")

// A frame is JSON with byte strings behind it: the JSON's length as four
// little-endian bytes, the JSON, then each byte string with its length.
func parseFrame(b []byte) (head []byte, blobs [][]byte, err error) {
	head, b, ok := cutPart(b)
	if !ok {
		return nil, nil, errFrame
	}
	for len(b) > 0 {
		var blob []byte
		if blob, b, ok = cutPart(b); !ok {
			return nil, nil, errFrame
		}
		blobs = append(blobs, blob)
	}
	return head, blobs, nil
}

func cutPart(b []byte) (part, rest []byte, ok bool) {
	if len(b) < 4 {
		return nil, nil, false
	}
	n := binary.LittleEndian.Uint32(b)
	if uint64(len(b)-4) < uint64(n) {
		return nil, nil, false
	}
	return b[4 : 4+n], b[4+n:], true
}

func appendFrame(b []byte, head any, blobs [][]byte) []byte {
	text, err := boundary.Marshal(head)
	if err != nil {
		panic(err) // every answer is made of plain values
	}
	b = binary.LittleEndian.AppendUint32(b, uint32(len(text)))
	b = append(b, text...)
	for _, blob := range blobs {
		b = binary.LittleEndian.AppendUint32(b, uint32(len(blob)))
		b = append(b, blob...)
	}
	return b
}
