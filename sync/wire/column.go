package wire

// A run-length column of unsigned numbers is a row of groups. A group is a signed count and
// then, for a positive count, one number that stands that many times; for a negative count,
// that many numbers as they are.

// minRun is the shortest run that is worth a group of its own.
const minRun = 3

func (w *writer) column(values []uint64) {
	if w.isTaught() && (len(values) < 2 || w.isAlike(values)) {
		if len(values) > 0 {
			w.uvarint(values[0])
		}
		return
	}
	for start := 0; start < len(values); {
		if run := runLength(values[start:]); run >= minRun || run == len(values)-start {
			w.group(int64(run))
			w.uvarint(values[start])
			start += run
			continue
		}
		end := start
		for end < len(values) {
			run := runLength(values[end:])
			if run >= minRun {
				break
			}
			end += run
		}
		w.group(int64(start - end))
		for _, v := range values[start:end] {
			w.uvarint(v)
		}
		start = end
	}
}

// isAlike says, in version 3, whether the numbers are all the same: a group of size 0.
func (w *writer) isAlike(values []uint64) bool {
	isAlike := runLength(values) == len(values)
	if isAlike {
		w.group(0)
	}
	return isAlike
}

func (w *writer) group(size int64) {
	if w.coded == nil {
		w.varint(size)
		return
	}
	w.coded.number(w.groups(), zigzag(size))
}

func (r *reader) group() int64 {
	if r.coded == nil {
		return r.varint()
	}
	return unzigzag(r.number(r.groups()))
}

func runLength(values []uint64) int {
	for i, v := range values {
		if v != values[0] {
			return i
		}
	}
	return len(values)
}

// column reads a run-length column of n numbers.
func (r *reader) column(n int) []uint64 {
	values := make([]uint64, 0, n)
	for len(values) < n && r.err == nil {
		room := int64(n - len(values))
		group := room
		if !r.isTaught() || n > 1 {
			group = r.group()
		}
		if group == 0 && len(values) == 0 && r.isTaught() {
			group = room
		}
		switch {
		case group > 0 && group <= room:
			v := r.uvarint()
			for range group {
				values = append(values, v)
			}
		case group < 0 && group >= -room:
			for range -group {
				values = append(values, r.uvarint())
			}
		default:
			r.fail(ErrMalformed)
		}
	}
	// After an error the column is still n long, so that nobody has to look before indexing.
	return values[:n]
}

// series writes numbers that seldom stand in long runs: in version 2 one by one.
func (w *writer) series(values []uint64) {
	if w.coded == nil {
		w.column(values)
		return
	}
	for _, v := range values {
		w.uvarint(v)
	}
}

func (r *reader) series(n int) []uint64 {
	if r.coded == nil {
		return r.column(n)
	}
	values := make([]uint64, n)
	for i := range values {
		values[i] = r.uvarint()
	}
	return values
}
