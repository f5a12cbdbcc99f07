package wire

import (
	"encoding/binary"
	"hash/crc32"

	"evenhold/sync/record"
)

// AppendSnapshot appends the frame of a whole document with the history it holds to b, with a
// checksum so that damage in storage is found and not merged.
func AppendSnapshot(b []byte, d *record.Doc) []byte {
	start := len(b)
	if base := d.Base(); base.IsZero() {
		b = appendDoc(b, d)
	} else {
		b = plainFrame(b, typeCompacted, func(w *writer) {
			w.base(base)
			doc := appendDoc(nil, d)
			w.uvarint(uint64(len(doc)))
			w.raw(doc)
		})
	}
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[start:]))
}

func appendDoc(b []byte, d *record.Doc) []byte {
	return frame(b, typeSnapshot, func(w *writer) {
		w.id(d.ID())
		w.block(d.Operations())
	})
}

// Snapshot reads what AppendSnapshot wrote. It returns an error of the closed list, or an
// error of record.Restore.
func Snapshot(b []byte) (*record.Doc, error) {
	if len(b) < 6 {
		return nil, ErrMalformed
	}
	body, sum := b[:len(b)-4], binary.BigEndian.Uint32(b[len(b)-4:])
	isCompacted := body[0] == versionPlain && body[1] == typeCompacted
	isWhole := body[0] <= versionCoded && body[1] == typeSnapshot
	if (isWhole || isCompacted) && crc32.ChecksumIEEE(body) != sum {
		return nil, ErrChecksum
	}
	var base record.Base
	if isCompacted {
		r := open(body, typeCompacted, MaxSnapshotBytes)
		base = r.base()
		body = r.raw(r.count(MaxSnapshotBytes))
		if err := r.close(); err != nil {
			return nil, err
		}
	}
	r := open(body, typeSnapshot, MaxSnapshotBytes)
	id := r.id()
	ops := r.block(MaxSnapshotOps)
	if err := r.close(); err != nil {
		return nil, err
	}
	return record.Restore(id, base, ops)
}
