package wire

import "evenhold/sync/record"

// In version 3 the shapes of the lesson are known, and a further one is spelt out where it first
// stands. A step is shape and record mode in one symbol, as in version 2; the symbol 0 stands for
// a shape that is new.
const stepNew = 0

// place returns where a shape stands among those of the lesson and of this frame.
func (m *models) place(s shape) (at uint32, found bool) {
	if at, found = m.taught.shapeAt[s]; found {
		return at, true
	}
	at, found = m.freshAt[s]
	return at, found
}

func (m *models) meet(s shape) (at uint32) {
	if m.freshAt == nil {
		m.freshAt = map[shape]uint32{}
	}
	at = uint32(len(m.taught.shapes) + len(m.fresh))
	m.freshAt[s] = at
	m.fresh = append(m.fresh, s)
	return at
}

func (m *models) shape(at uint64) (s shape, found bool) {
	if at < uint64(len(m.taught.shapes)) {
		return m.taught.shapes[at], true
	}
	if at -= uint64(len(m.taught.shapes)); at < uint64(len(m.fresh)) {
		return m.fresh[at], true
	}
	return s, false
}

// steps writes how many steps are as suggested, then one that is not, and so on; then the records
// that had to be spelt out. It returns each operation's shape.
func (w *writer) steps(ops []record.Operation) []uint32 {
	f := &follower{next: w.next}
	defer func() { w.next = f.next }()
	which := make([]uint32, len(ops))
	var hits uint64
	var named []record.ID
	for i := range ops {
		s, mode := shape{ops[i].Kind, ops[i].Field}, recordMode(ops, i)
		if mode == recordNamed {
			named = append(named, ops[i].Record)
		}
		at, found := w.place(s)
		symbol := 1 + uint64(at)*recordModes + mode
		switch {
		case found && f.suggest() == symbol:
			hits++
		case found:
			w.put(aboutHits, hits)
			w.put(aboutSymbols, symbol)
			hits = 0
		default:
			w.put(aboutHits, hits)
			w.put(aboutSymbols, stepNew)
			w.text(s.kind)
			w.text(s.field)
			w.put(aboutModes, mode)
			hits = 0
			at = w.meet(s)
			symbol = 1 + uint64(at)*recordModes + mode
		}
		which[i] = at
		f.learn(symbol)
	}
	w.put(aboutHits, hits)
	w.named(named)
	return which
}

func (r *reader) steps(ops []record.Operation) []uint32 {
	f := &follower{next: r.next}
	which := make([]uint32, len(ops))
	hits := r.get(aboutHits)
	var named []int
	for i := range ops {
		symbol := f.suggest()
		if hits > 0 {
			hits--
		} else {
			symbol = r.step()
			hits = r.get(aboutHits)
		}
		s, found := r.shape((symbol - 1) / recordModes)
		if symbol == noContext || !found || r.err != nil {
			r.fail(ErrMalformed)
			return which
		}
		f.learn(symbol)
		which[i] = uint32((symbol - 1) / recordModes)
		ops[i].Kind, ops[i].Field = s.kind, s.field
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

// step reads one symbol, and the shape with it if that is new.
func (r *reader) step() (symbol uint64) {
	if symbol = r.get(aboutSymbols); symbol != stepNew {
		return symbol
	}
	s := shape{r.text(maxNameBytes), r.text(maxNameBytes)}
	mode := r.get(aboutModes)
	if mode >= recordModes || r.err != nil {
		r.fail(ErrMalformed)
		return noContext
	}
	return 1 + uint64(r.meet(s))*recordModes + mode
}
