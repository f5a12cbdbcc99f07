package wire

import "evenhold/sync/record"

// shape is a kind and field; a block lists each once.
type shape struct{ kind, field string }

// How an operation's record follows from the operation before it.
const (
	recordSame  = 0 // the record of the operation before
	recordNew   = 1 // the record that this operation begins
	recordNamed = 2 // spelt out
	recordModes = 3
)

// noContext is the symbol before the first operation.
const noContext = 0

// follower suggests the symbol that followed the last time the one before it occurred. Records
// of one kind are written with the same fields in the same order, so it is mostly right.
type follower struct {
	next []uint64 // by symbol
	last uint64
}

func newFollower(shapes int) *follower {
	return &follower{next: make([]uint64, 1+shapes*recordModes)}
}

func (f *follower) suggest() uint64 { return f.next[f.last] }

func (f *follower) learn(symbol uint64) {
	for symbol >= uint64(len(f.next)) {
		f.next = append(f.next, noContext)
	}
	f.next[f.last] = symbol
	f.last = symbol
}

// shapes writes the list of shapes, then of each operation the symbol made of shape and record
// mode: how many symbols are as suggested, then one that is not, and so on; then the records
// that had to be spelt out. It returns each operation's shape.
func (w *writer) shapes(ops []record.Operation) []uint32 {
	if w.isTaught() {
		return w.steps(ops)
	}
	list, which := shapesOf(ops)
	w.about(aboutShapes)
	w.uvarint(uint64(len(list)))
	for _, s := range list {
		w.text(s.kind)
		w.text(s.field)
	}
	w.about(aboutSymbols)
	f := newFollower(len(list))
	var hits uint64
	var named []record.ID
	for i := range ops {
		mode := recordMode(ops, i)
		if mode == recordNamed {
			named = append(named, ops[i].Record)
		}
		symbol := 1 + uint64(which[i])*recordModes + mode
		if f.suggest() == symbol {
			hits++
		} else {
			w.uvarint(hits)
			w.uvarint(symbol)
			hits = 0
		}
		f.learn(symbol)
	}
	w.uvarint(hits)
	w.named(named)
	return which
}

func shapesOf(ops []record.Operation) (list []shape, which []uint32) {
	index := map[shape]uint32{}
	which = make([]uint32, len(ops))
	for i := range ops {
		s := shape{ops[i].Kind, ops[i].Field}
		at, found := index[s]
		if !found {
			at = uint32(len(list))
			index[s] = at
			list = append(list, s)
		}
		which[i] = at
	}
	return list, which
}

func recordMode(ops []record.Operation, i int) uint64 {
	switch {
	case i > 0 && ops[i].Record == ops[i-1].Record:
		return recordSame
	case ops[i].Record == ops[i].ID():
		return recordNew
	default:
		return recordNamed
	}
}

// named writes records as device and distance from the last record of that device here.
func (w *writer) named(records []record.ID) {
	w.about(aboutNamed)
	devices := make([]uint64, len(records))
	for i, id := range records {
		devices[i] = w.deviceIndex(id.Device)
	}
	w.column(devices)
	last := w.lastSeqs()
	for _, id := range records {
		w.varint(int64(id.Seq - last[id.Device]))
		last[id.Device] = id.Seq
	}
}

func (r *reader) shapes(ops []record.Operation) []uint32 {
	if r.isTaught() {
		return r.steps(ops)
	}
	r.about(aboutShapes)
	list := make([]shape, r.items(len(ops)))
	for i := range list {
		list[i] = shape{r.text(maxNameBytes), r.text(maxNameBytes)}
	}
	which := make([]uint32, len(ops))
	if len(list) == 0 {
		r.fail(ErrMalformed)
		return which
	}
	r.about(aboutSymbols)
	f := newFollower(len(list))
	hits := r.uvarint()
	var named []int
	for i := range ops {
		symbol := f.suggest()
		if hits > 0 {
			hits--
		} else {
			symbol = r.uvarint()
			hits = r.uvarint()
		}
		at := (symbol - 1) / recordModes
		if symbol == noContext || at >= uint64(len(list)) {
			r.fail(ErrMalformed)
			return which
		}
		f.learn(symbol)
		which[i] = uint32(at)
		ops[i].Kind, ops[i].Field = list[at].kind, list[at].field
		switch mode := (symbol - 1) % recordModes; {
		case mode == recordNew:
			ops[i].Record = ops[i].ID()
		case mode == recordNamed:
			named = append(named, i)
		case i == 0:
			r.fail(ErrMalformed)
			return which
		}
	}
	r.records(ops, named, hits)
	return which
}

// records reads the records that had to be spelt out, and gives the others theirs. Hits that are
// left over foretell operations that do not come.
func (r *reader) records(ops []record.Operation, named []int, hits uint64) {
	if hits != 0 {
		r.fail(ErrMalformed)
		return
	}
	r.named(ops, named)
	r.fillSame(ops)
}

func (r *reader) named(ops []record.Operation, named []int) {
	r.about(aboutNamed)
	devices := r.column(len(named))
	last := r.lastSeqs()
	for i, at := range named {
		device := r.deviceAt(devices[i])
		if r.err != nil {
			return
		}
		last[device] += uint64(r.varint())
		ops[at].Record = record.ID{Device: device, Seq: last[device]}
		if ops[at].Record.IsZero() {
			r.fail(ErrMalformed)
			return
		}
	}
}

// fillSame gives every operation without a record the record before it.
func (r *reader) fillSame(ops []record.Operation) {
	for i := range ops {
		if ops[i].Record.IsZero() && i > 0 {
			ops[i].Record = ops[i-1].Record
		}
	}
}
