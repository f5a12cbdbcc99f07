package wire

import (
	"evenhold/sync/record"
)

// AppendOperations appends the frame of a list of operations, at most MaxOperations, to b.
func AppendOperations(b []byte, ops []record.Operation) []byte {
	return plainFrame(b, typeOperations, func(w *writer) { w.block(ops) })
}

// Operations reads what AppendOperations wrote. It returns an error of the closed list.
// The operations' own shape is left to Operation.Check.
func Operations(b []byte) ([]record.Operation, error) {
	r := open(b, typeOperations, MaxSnapshotBytes)
	ops := r.block(MaxOperations)
	if err := r.close(); err != nil {
		return nil, err
	}
	return ops, nil
}

// block writes operations by column: authors, numbers, stamps, documents, shapes and records,
// values, replaced stamps.
func (w *writer) block(ops []record.Operation) {
	w.about(aboutHead)
	w.uvarint(uint64(len(ops)))
	if len(ops) == 0 {
		return
	}
	w.load.operations += len(ops)
	defer w.about(aboutHead)
	w.walls(ops)
	w.authors(ops)
	w.counts(ops)
	w.documents(ops)
	shapes := w.shapes(ops)
	w.values(ops, shapes)
	w.replaces(ops, shapes)
}

func (r *reader) block(limit int) []record.Operation {
	// In version 1 each operation's wall difference takes a byte or more, so the count cannot
	// outgrow the bytes that came.
	r.about(aboutHead)
	n := r.items(limit)
	r.load.operations += n
	if r.coded != nil && r.load.isTooDense(len(r.coded.in)) {
		r.fail(ErrMalformed)
	}
	if n == 0 || r.err != nil {
		return nil
	}
	defer r.about(aboutHead)
	ops := make([]record.Operation, n)
	r.walls(ops)
	r.authors(ops)
	r.counts(ops)
	r.documents(ops)
	shapes := r.shapes(ops)
	r.values(ops, shapes)
	r.replaces(ops, shapes)
	if r.err != nil {
		return nil
	}
	return ops
}

// walls: each wall reading as its difference from the one before.
func (w *writer) walls(ops []record.Operation) {
	if w.coded != nil {
		w.commits(ops)
		return
	}
	last := int64(0)
	for i := range ops {
		w.varint(ops[i].Stamp.WallMS - last)
		last = ops[i].Stamp.WallMS
	}
}

func (r *reader) walls(ops []record.Operation) {
	if r.coded != nil {
		r.commits(ops)
		return
	}
	last := int64(0)
	for i := range ops {
		last += r.varint()
		ops[i].Stamp.WallMS = last
	}
}

// authors: a column of authors, then one of how far each number lies from the one expected,
// which is the author's last number in this block plus one.
func (w *writer) authors(ops []record.Operation) {
	authors, offs := make([]uint64, len(ops)), make([]uint64, len(ops))
	last := w.lastSeqs()
	for i := range ops {
		device := ops[i].Stamp.Device
		authors[i] = w.deviceIndex(device)
		offs[i] = zigzag(int64(ops[i].Seq - last[device] - 1))
		last[device] = ops[i].Seq
	}
	w.about(aboutAuthors)
	w.column(authors)
	w.about(aboutSeqs)
	w.column(offs)
}

func (r *reader) authors(ops []record.Operation) {
	r.about(aboutAuthors)
	authors := r.column(len(ops))
	r.about(aboutSeqs)
	offs := r.column(len(ops))
	last := r.lastSeqs()
	for i := range ops {
		ops[i].Stamp.Device = r.deviceAt(authors[i])
		if r.err != nil {
			return
		}
		device := ops[i].Stamp.Device
		last[device] += 1 + uint64(unzigzag(offs[i]))
		ops[i].Seq = last[device]
	}
}

// counts: a column of how far each count lies from the one expected, then one of readings that
// were corrected: 0 for none, else one more than the zigzag of reading minus wall.
func (w *writer) counts(ops []record.Operation) {
	counts, readings := make([]uint64, len(ops)), make([]uint64, len(ops))
	for i := range ops {
		counts[i] = zigzag(int64(ops[i].Stamp.Count) - expectedCount(ops, i))
		if ops[i].ReadMS != 0 {
			readings[i] = zigzag(ops[i].ReadMS-ops[i].Stamp.WallMS) + 1
		}
	}
	w.about(aboutCounts)
	w.column(counts)
	w.about(aboutReadings)
	w.column(readings)
}

func (r *reader) counts(ops []record.Operation) {
	r.about(aboutCounts)
	counts := r.column(len(ops))
	r.about(aboutReadings)
	readings := r.column(len(ops))
	for i := range ops {
		count := unzigzag(counts[i]) + expectedCount(ops, i)
		if count < 0 || count > 1<<32-1 {
			r.fail(ErrMalformed)
			return
		}
		ops[i].Stamp.Count = uint32(count)
		if readings[i] != 0 {
			ops[i].ReadMS = ops[i].Stamp.WallMS + unzigzag(readings[i]-1)
		}
	}
}

// expectedCount is one more than the count before within one reading of one author, else 0.
func expectedCount(ops []record.Operation, i int) int64 {
	if i == 0 {
		return 0
	}
	here, before := ops[i].Stamp, ops[i-1].Stamp
	if here.WallMS != before.WallMS || here.Device != before.Device {
		return 0
	}
	return int64(before.Count) + 1
}

// documents: the documents in order of appearance, then a column of which.
func (w *writer) documents(ops []record.Operation) {
	index := map[record.ID]uint64{}
	var docs []record.ID
	which := make([]uint64, len(ops))
	for i := range ops {
		at, found := index[ops[i].Doc]
		if !found {
			at = uint64(len(docs))
			index[ops[i].Doc] = at
			docs = append(docs, ops[i].Doc)
		}
		which[i] = at
	}
	w.about(aboutDocs)
	w.uvarint(uint64(len(docs)))
	for _, doc := range docs {
		w.id(doc)
	}
	w.column(which)
}

func (r *reader) documents(ops []record.Operation) {
	r.about(aboutDocs)
	docs := make([]record.ID, r.items(len(ops)))
	for i := range docs {
		docs[i] = r.id()
	}
	which := r.column(len(ops))
	for i := range ops {
		if which[i] >= uint64(len(docs)) {
			r.fail(ErrMalformed)
			return
		}
		ops[i].Doc = docs[which[i]]
	}
}

// commits: in versions 2 and 3, of each row of equal wall readings the difference from the row
// before and how many more than one operation it holds.
func (w *writer) commits(ops []record.Operation) {
	last := w.wallMS
	for start := 0; start < len(ops); {
		wallMS, end := ops[start].Stamp.WallMS, start
		for end < len(ops) && ops[end].Stamp.WallMS == wallMS {
			end++
		}
		w.about(aboutWalls)
		w.varint(wallMS - last)
		w.about(aboutCommits)
		w.uvarint(uint64(end - start - 1))
		last, start = wallMS, end
	}
}

func (r *reader) commits(ops []record.Operation) {
	last := r.wallMS
	for start := 0; start < len(ops) && r.err == nil; {
		r.about(aboutWalls)
		last += r.varint()
		r.about(aboutCommits)
		more := r.uvarint()
		if more >= uint64(len(ops)-start) {
			r.fail(ErrMalformed)
			return
		}
		for end := start + int(more); start <= end; start++ {
			ops[start].Stamp.WallMS = last
		}
	}
}
