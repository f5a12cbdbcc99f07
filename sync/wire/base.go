package wire

import (
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// base writes what a compacted document remembers of the operations it let go of.
func (w *writer) base(b record.Base) {
	w.uvarint(uint64(len(b.Dropped)))
	for _, dropped := range b.Dropped {
		w.device(dropped.Device)
		w.uvarint(uint64(len(dropped.Seqs)))
		var last uint64
		for _, seq := range dropped.Seqs {
			w.uvarint(seq - last)
			last = seq
		}
	}
	w.hash(b.Digest)
	w.uvarint(uint64(len(b.Replaced)))
	for _, replaced := range b.Replaced {
		w.id(replaced.Record)
		w.text(replaced.Field)
		w.uvarint(uint64(len(replaced.Stamps)))
		for _, stamp := range replaced.Stamps {
			w.device(stamp.Device)
			w.varint(stamp.WallMS)
			w.uvarint(uint64(stamp.Count))
		}
	}
}

func (r *reader) base() record.Base {
	var b record.Base
	for range r.items(MaxOperations) {
		dropped := record.Dropped{Device: r.device()}
		var last uint64
		for range r.items(MaxSnapshotOps) {
			last += r.uvarint()
			dropped.Seqs = append(dropped.Seqs, last)
		}
		b.Dropped = append(b.Dropped, dropped)
	}
	b.Digest = r.hash()
	for range r.items(MaxSnapshotOps) {
		replaced := record.Replaced{Record: r.id(), Field: r.text(record.MaxNameBytes)}
		for range r.items(MaxSnapshotOps) {
			replaced.Stamps = append(replaced.Stamps, r.stamp())
		}
		b.Replaced = append(b.Replaced, replaced)
	}
	return b
}

func (r *reader) stamp() clock.Stamp {
	s := clock.Stamp{Device: r.device(), WallMS: r.varint()}
	count := r.uvarint()
	s.Count = uint32(count)
	if uint64(s.Count) != count {
		r.fail(ErrMalformed)
	}
	return s
}
