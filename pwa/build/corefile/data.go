package corefile

import (
	"encoding/binary"
	"fmt"
)

// segment is a part of memory that the program brings along.
type segment struct{ place, at, size int } // place in memory; place and size in the file

// reader reads a WebAssembly file; after an error it stays at its end.
type reader struct {
	b        []byte
	at       int
	isBroken bool
}

func (r *reader) number() int {
	v, n := binary.Uvarint(r.b[r.at:])
	if n <= 0 || v > uint64(len(r.b)) {
		r.isBroken, r.at = true, len(r.b)
		return 0
	}
	r.at += n
	return int(v)
}

func (r *reader) byte() byte {
	if r.at >= len(r.b) {
		r.isBroken = true
		return 0
	}
	r.at++
	return r.b[r.at-1]
}

// signed reads a signed LEB128 number of at most 32 bits.
func (r *reader) signed() int {
	var v int64
	for shift := 0; shift < 35; shift += 7 {
		c := r.byte()
		v |= int64(c&0x7f) << shift
		if c < 0x80 {
			if c&0x40 != 0 {
				v |= -1 << (shift + 7)
			}
			return int(v)
		}
	}
	r.isBroken = true
	return 0
}

// dataOf finds the segments of the data section, all of the plain form: memory 0, constant place.
func dataOf(program []byte) ([]segment, error) {
	const dataSection, constant, end = 11, 0x41, 0x0b
	r := &reader{b: program, at: min(8, len(program))}
	for r.at < len(program) && !r.isBroken {
		id := r.byte()
		size := r.number()
		if id != dataSection {
			r.at = min(r.at+size, len(program))
			continue
		}
		segments := make([]segment, r.number())
		for i := range segments {
			if r.number() != 0 || r.byte() != constant {
				r.isBroken = true
			}
			s := segment{place: r.signed()}
			if r.byte() != end {
				r.isBroken = true
			}
			s.size = r.number()
			s.at = r.at
			r.at = min(r.at+s.size, len(program))
			if r.isBroken || s.place < 0 || s.at+s.size > len(program) {
				return nil, fmt.Errorf("data of the program: %w", ErrLayout)
			}
			segments[i] = s
		}
		return segments, nil
	}
	return nil, fmt.Errorf("data of the program: %w", ErrLayout)
}

// load lays the segments out as memory is when the program starts.
func load(program []byte, segments []segment) []byte {
	size := 0
	for _, s := range segments {
		size = max(size, s.place+s.size)
	}
	memory := make([]byte, size)
	for _, s := range segments {
		copy(memory[s.place:], program[s.at:s.at+s.size])
	}
	return memory
}
