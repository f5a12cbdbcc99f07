package wire

import (
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// How a replaced stamp is told. Larger codes are one more than the zigzag of how many places
// before this operation the replaced one stands in the block.
const (
	replacedLatest = 0 // the nearest operation before, of the same record and shape
	replacedSpelt  = 1
)

// track finds the nearest operation before of the same record and shape. It is fed the block's
// operations in order and links those of one record, so that a block without corrections costs
// next to nothing.
type track struct {
	ops    []record.Operation
	which  []uint32
	before []int32             // the operation before of the same record, -1 for none
	latest map[record.ID]int32 // of records other than the present one
}

func newTrack(ops []record.Operation, which []uint32) *track {
	return &track{
		ops: ops, which: which,
		before: make([]int32, len(ops)), latest: map[record.ID]int32{},
	}
}

func (t *track) add(i int) {
	rec := t.ops[i].Record
	if i > 0 && rec == t.ops[i-1].Record {
		t.before[i] = int32(i - 1)
		return
	}
	if i > 0 {
		t.latest[t.ops[i-1].Record] = int32(i - 1)
	}
	t.before[i] = -1
	if at, found := t.latest[rec]; found {
		t.before[i] = at
	}
}

// nearest returns -1 if there is no such operation.
func (t *track) nearest(i int) int {
	for at := t.before[i]; at >= 0; at = t.before[at] {
		if t.which[at] == t.which[i] {
			return int(at)
		}
	}
	return -1
}

// speltStamp is a replaced stamp with the wall reading of the operation that replaces it.
type speltStamp struct {
	stamp  clock.Stamp
	wallMS int64
}

// replaces writes the column of how many stamps each operation replaces, then of each stamp
// how it is told, then those spelt out: device, milliseconds before the operation's own wall
// reading, count.
func (w *writer) replaces(ops []record.Operation, which []uint32) {
	counts := make([]uint64, len(ops))
	total := 0
	for i := range ops {
		counts[i] = uint64(len(ops[i].Replaces))
		total += len(ops[i].Replaces)
	}
	w.about(aboutReplaced)
	w.column(counts)
	if total == 0 {
		return
	}
	placed := make(map[clock.Stamp]int, len(ops))
	for i := range ops {
		placed[ops[i].Stamp] = i
	}
	t := newTrack(ops, which)
	codes := make([]uint64, 0, total)
	var spelt []speltStamp
	for i := range ops {
		t.add(i)
		for _, stamp := range ops[i].Replaces {
			at, found := placed[stamp]
			near := -1
			if found {
				near = t.nearest(i)
			}
			switch {
			case found && near >= 0 && ops[near].Stamp == stamp:
				codes = append(codes, replacedLatest)
			case found && at != i:
				codes = append(codes, zigzag(int64(i-at))+1)
			default:
				codes = append(codes, replacedSpelt)
				spelt = append(spelt, speltStamp{stamp, ops[i].Stamp.WallMS})
			}
		}
	}
	w.about(aboutReplacedHow)
	w.column(codes)
	w.about(aboutReplacedSpelt)
	for _, s := range spelt {
		w.device(s.stamp.Device)
		w.put(w.inVersion3(aboutSpeltBack, aboutReplacedSpelt), zigzag(s.wallMS-s.stamp.WallMS))
		w.put(w.inVersion3(aboutSpeltCount, aboutReplacedSpelt), uint64(s.stamp.Count))
	}
}

func (r *reader) replaces(ops []record.Operation, which []uint32) {
	r.about(aboutReplaced)
	counts := r.column(len(ops))
	total := 0
	for _, n := range counts {
		if n > maxReplaces {
			r.fail(ErrLimit)
			return
		}
		total += int(n)
	}
	if total == 0 {
		return
	}
	t := newTrack(ops, which)
	r.about(aboutReplacedHow)
	codes := r.column(total)
	r.about(aboutReplacedSpelt)
	stamps := make([]clock.Stamp, 0, total)
	for i := range ops {
		t.add(i)
		start := len(stamps)
		for range counts[i] {
			stamps = append(stamps, r.replaced(t, i, codes[len(stamps)]))
		}
		if counts[i] > 0 {
			ops[i].Replaces = stamps[start:len(stamps):len(stamps)]
		}
		if r.err != nil {
			return
		}
	}
}

func (r *reader) replaced(t *track, i int, code uint64) clock.Stamp {
	switch code {
	case replacedLatest:
		if at := t.nearest(i); at >= 0 {
			return t.ops[at].Stamp
		}
		r.fail(ErrMalformed)
		return clock.Stamp{}
	case replacedSpelt:
		device := r.device()
		backMS := unzigzag(r.get(r.inVersion3(aboutSpeltBack, aboutReplacedSpelt)))
		wallMS := t.ops[i].Stamp.WallMS - backMS
		count := r.get(r.inVersion3(aboutSpeltCount, aboutReplacedSpelt))
		if count > 1<<32-1 {
			r.fail(ErrMalformed)
		}
		return clock.Stamp{WallMS: wallMS, Count: uint32(count), Device: device}
	}
	at := int64(i) - unzigzag(code-1)
	if at < 0 || at >= int64(len(t.ops)) {
		r.fail(ErrMalformed)
		return clock.Stamp{}
	}
	return t.ops[at].Stamp
}
