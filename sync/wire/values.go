package wire

import (
	"encoding/binary"

	"evenhold/sync/record"
)

// What a whole number is told as the difference from. A column names one for all its numbers.
const (
	fromZero = 0
	fromLast = 1 // the number before in this column
	fromWall = 2 // the operation's wall reading: small for a field that holds a time
)

// byShape returns, for each shape, the places of its operations in order.
func byShape(which []uint32) [][]int {
	var places [][]int
	for i, s := range which {
		for int(s) >= len(places) {
			places = append(places, nil)
		}
		places[s] = append(places[s], i)
	}
	return places
}

// values writes the values of one shape after those of another: the column of types, then the
// whole numbers, the truth values, and the texts and unknown values.
func (w *writer) values(ops []record.Operation, which []uint32) {
	for shape, places := range byShape(which) {
		if len(places) == 0 {
			continue // known from the lesson, but not here
		}
		about := aboutValues + shape*perShape
		w.about(about + ofTypes)
		types := make([]uint64, len(places))
		var wholes, bools, texts []int
		for i, at := range places {
			kind := ops[at].Value.Type()
			types[i] = uint64(kind)
			switch kind {
			case record.TypeNone:
			case record.TypeInt:
				wholes = append(wholes, at)
			case record.TypeBool:
				bools = append(bools, at)
			default:
				texts = append(texts, at)
			}
		}
		w.column(types)
		w.about(about + ofWholes)
		w.wholes(ops, wholes)
		w.about(about + ofBools)
		w.bools(ops, bools)
		w.about(about + ofTexts)
		w.texts(ops, texts)
	}
}

func (r *reader) values(ops []record.Operation, which []uint32) {
	for shape, places := range byShape(which) {
		if len(places) == 0 {
			continue
		}
		about := aboutValues + shape*perShape
		r.about(about + ofTypes)
		types := r.column(len(places))
		var wholes, bools, texts []int
		var kinds []record.Type // of texts
		for i, at := range places {
			switch {
			case types[i] == uint64(record.TypeNone):
			case types[i] == uint64(record.TypeInt):
				wholes = append(wholes, at)
			case types[i] == uint64(record.TypeBool):
				bools = append(bools, at)
			case types[i] > 255:
				r.fail(ErrMalformed)
			default:
				texts = append(texts, at)
				kinds = append(kinds, record.Type(types[i]))
			}
		}
		r.about(about + ofWholes)
		r.wholes(ops, wholes)
		r.about(about + ofBools)
		r.bools(ops, bools)
		r.about(about + ofTexts)
		r.texts(ops, texts, kinds)
		if r.err != nil {
			return
		}
	}
}

// wholes writes what the numbers are told from, whichever is shortest, and the differences.
func (w *writer) wholes(ops []record.Operation, places []int) {
	if len(places) == 0 {
		return
	}
	best, bestBytes := uint64(0), -1
	for from := uint64(fromZero); from <= fromWall; from++ {
		if size := wholesBytes(ops, places, from); bestBytes < 0 || size < bestBytes {
			best, bestBytes = from, size
		}
	}
	if w.isTaught() {
		w.put(w.slot-ofWholes+ofFrom, best)
	} else {
		w.uvarint(best)
	}
	last := int64(0)
	for _, at := range places {
		v, _ := ops[at].Value.Int()
		w.varint(v - base(&ops[at], best, last))
		last = v
	}
}

func wholesBytes(ops []record.Operation, places []int, from uint64) (size int) {
	var scratch [binary.MaxVarintLen64]byte
	last := int64(0)
	for _, at := range places {
		v, _ := ops[at].Value.Int()
		size += binary.PutVarint(scratch[:], v-base(&ops[at], from, last))
		last = v
	}
	return size
}

func base(op *record.Operation, from uint64, last int64) int64 {
	switch from {
	case fromLast:
		return last
	case fromWall:
		return op.Stamp.WallMS
	default:
		return 0
	}
}

func (r *reader) wholes(ops []record.Operation, places []int) {
	if len(places) == 0 {
		return
	}
	var from uint64
	if r.isTaught() {
		from = r.get(r.slot - ofWholes + ofFrom)
	} else {
		from = r.uvarint()
	}
	if from > fromWall {
		r.fail(ErrMalformed)
	}
	last := int64(0)
	for _, at := range places {
		last = r.varint() + base(&ops[at], from, last)
		ops[at].Value = record.Int(last)
	}
}

func (w *writer) bools(ops []record.Operation, places []int) {
	bits := make([]uint64, len(places))
	for i, at := range places {
		if v, _ := ops[at].Value.Bool(); v {
			bits[i] = 1
		}
	}
	w.column(bits)
}

func (r *reader) bools(ops []record.Operation, places []int) {
	bits := r.column(len(places))
	for i, at := range places {
		if bits[i] > 1 {
			r.fail(ErrMalformed)
		}
		ops[at].Value = record.Bool(bits[i] == 1)
	}
}

// texts writes a column that says of each text whether it is new here, 0, or which of those
// before it, from 1; then the lengths of the new ones; then their bytes.
func (w *writer) texts(ops []record.Operation, places []int) {
	index := map[string]uint64{}
	column := make([]uint64, len(places))
	var fresh []string
	for i, at := range places {
		text := payload(ops[at].Value)
		column[i] = index[text]
		if column[i] == 0 {
			fresh = append(fresh, text)
			index[text] = uint64(len(fresh))
		}
	}
	w.series(column)
	if w.coded != nil {
		defer w.speak(w.slot)()
		for _, text := range fresh {
			w.words(text)
		}
		return
	}
	for _, text := range fresh {
		w.uvarint(uint64(len(text)))
	}
	for _, text := range fresh {
		w.body = append(w.body, text...)
	}
}

func payload(v record.Value) string {
	if text, isText := v.Text(); isText {
		return text
	}
	bytes, _ := v.Payload()
	return bytes
}

func (r *reader) texts(ops []record.Operation, places []int, kinds []record.Type) {
	column := r.series(len(places))
	freshCount := 0
	for _, v := range column {
		if v == 0 {
			freshCount++
		}
	}
	if r.coded != nil {
		r.codedTexts(ops, places, kinds, column)
		return
	}
	if freshCount > len(r.rest) {
		r.fail(ErrMalformed)
		return
	}
	lengths := make([]int, freshCount)
	for i := range lengths {
		lengths[i] = r.count(maxValueBytes)
	}
	fresh := make([]string, 0, freshCount)
	for i, at := range places {
		v := column[i]
		if v == 0 {
			fresh = append(fresh, r.textOf(lengths[len(fresh)]))
			v = uint64(len(fresh))
		}
		if v > uint64(len(fresh)) {
			r.fail(ErrMalformed)
			return
		}
		ops[at].Value = valueOf(kinds[i], fresh[v-1])
	}
}

// codedTexts reads the new texts of version 2.
func (r *reader) codedTexts(
	ops []record.Operation, places []int, kinds []record.Type, column []uint64,
) {
	defer r.speak(r.slot)()
	var fresh []string
	for i, at := range places {
		v := column[i]
		if v == 0 {
			fresh = append(fresh, r.words(maxValueBytes))
			v = uint64(len(fresh))
		}
		if v > uint64(len(fresh)) {
			r.fail(ErrMalformed)
		}
		if r.err != nil {
			return
		}
		ops[at].Value = valueOf(kinds[i], fresh[v-1])
	}
}

func valueOf(kind record.Type, text string) record.Value {
	if kind == record.TypeText {
		return record.Text(text)
	}
	return record.Unknown(kind, text)
}
