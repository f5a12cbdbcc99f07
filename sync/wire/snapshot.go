package wire

import (
	"encoding/binary"
	"hash/crc32"

	"evenhold/sync/record"
)

// AppendSnapshot appends the frame of a whole document with its history to b, with a checksum
// so that damage in storage is found and not merged.
func AppendSnapshot(b []byte, d *record.Doc) []byte {
	start := len(b)
	b = frame(b, typeSnapshot, func(w *writer) {
		w.id(d.ID())
		w.block(d.Operations())
	})
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[start:]))
}

// Snapshot reads what AppendSnapshot wrote. It returns an error of the closed list, or an
// error of Doc.ApplyAll.
func Snapshot(b []byte) (*record.Doc, error) {
	if len(b) < 6 {
		return nil, ErrMalformed
	}
	body, sum := b[:len(b)-4], binary.BigEndian.Uint32(b[len(b)-4:])
	if body[0] <= Version && body[1] == typeSnapshot && crc32.ChecksumIEEE(body) != sum {
		return nil, ErrChecksum
	}
	r := open(body, typeSnapshot, MaxSnapshotBytes)
	d := record.NewDoc(r.id())
	ops := r.block(MaxSnapshotOps)
	if err := r.close(); err != nil {
		return nil, err
	}
	if err := d.ApplyAll(ops); err != nil {
		return nil, err
	}
	return d, nil
}
