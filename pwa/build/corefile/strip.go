package corefile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
)

// ErrLayout says that the program is not laid out as Go 1.26 does: nothing was changed.
var ErrLayout = errors.New("not the layout of a program compiled by Go 1.26")

const (
	magic      = 0xfffffff1 // of Go's table of functions
	headBytes  = 8 + 8*8
	entryBytes = 44 // of a function's fixed fields
)

// strip returns the program without what only a stack trace needs: the names of functions and
// files and the tables of lines and arguments, a tenth of what a phone would download. The
// runtime finds its way by what stays: frame sizes, stack maps, entries. A panic is then told
// without names. The error is ErrLayout, wrapped.
//
// The layout is that of Go 1.26: runtime/symtab.go and internal/abi/symtab.go of its sources;
// the file's sections are those of the WebAssembly Core Specification 2.0, W3C, 2022, section 5.5.
func strip(program []byte) ([]byte, error) {
	segments, err := dataOf(program)
	if err != nil {
		return nil, err
	}
	memory := load(program, segments)
	t, err := find(memory)
	if err != nil {
		return nil, err
	}
	if err := t.strip(); err != nil {
		return nil, err
	}
	stripped := bytes.Clone(program)
	for _, s := range segments {
		copy(stripped[s.at:s.at+s.size], memory[s.place:])
	}
	return stripped, nil
}

// table is Go's table of functions, a part of the program's memory.
type table struct {
	b         []byte // from the magic number on
	functions int
	// Where the parts begin.
	names, units, files, offsets, first int
}

// find looks for the table by its magic number and its head.
func find(memory []byte) (*table, error) {
	head := binary.LittleEndian.AppendUint32(nil, magic)
	head = append(head, 0, 0, 1, 8) // no padding, instructions of one byte, words of eight
	at := bytes.Index(memory, head)
	if at < 0 || len(memory)-at < headBytes || bytes.Contains(memory[at+1:], head) {
		return nil, fmt.Errorf("table of functions: %w", ErrLayout)
	}
	t := &table{b: memory[at:]}
	var words [8]int
	for i := range words {
		words[i] = int(binary.LittleEndian.Uint64(t.b[8+8*i:]))
	}
	t.functions = words[0]
	t.names, t.units, t.files, t.offsets, t.first = words[3], words[4], words[5], words[6], words[7]
	isOrdered := headBytes <= t.names && t.names < t.units && t.units <= t.files &&
		t.files <= t.offsets && t.offsets < t.first && t.first+8*t.functions <= len(t.b)
	if !isOrdered || t.functions <= 0 {
		return nil, fmt.Errorf("head of the table of functions: %w", ErrLayout)
	}
	return t, nil
}

// strip clears names and files, and of the tables by place in the code those of files and
// lines. What the other tables use stays.
func (t *table) strip() error {
	used := make([]bool, t.first-t.offsets)
	used[0] = true
	for i := range t.functions {
		entry := t.first + int(binary.LittleEndian.Uint32(t.b[t.first+8*i+4:]))
		if entry+entryBytes > len(t.b) {
			return fmt.Errorf("function %d: %w", i, ErrLayout)
		}
		if err := t.bare(t.b[entry:], used); err != nil {
			return fmt.Errorf("function %d: %w", i, err)
		}
	}
	clear(t.b[t.names:t.units])
	clear(t.b[t.files:t.offsets])
	for i, isUsed := range used {
		if !isUsed {
			t.b[t.offsets+i] = 0
		}
	}
	return nil
}

// bare clears one function's name, file and lines and marks the tables that it still uses: frame
// sizes, stack maps and bounds. The others serve traces and interruption by signals, which
// WebAssembly has none of.
func (t *table) bare(f []byte, used []bool) error {
	const name, frame, file, line, tables, unit, start = 4, 16, 20, 24, 28, 32, 36
	for _, field := range []int{name, file, line, unit, start} {
		clear(f[field : field+4])
	}
	if err := t.mark(binary.LittleEndian.Uint32(f[frame:]), used); err != nil {
		return err
	}
	count := int(binary.LittleEndian.Uint32(f[tables:]))
	if count > 64 || entryBytes+4*count > len(f) {
		return ErrLayout
	}
	const stackMaps, bounds = 1, 4
	for i := range count {
		if i != stackMaps && i != bounds {
			clear(f[entryBytes+4*i : entryBytes+4*i+4])
			continue
		}
		if err := t.mark(binary.LittleEndian.Uint32(f[entryBytes+4*i:]), used); err != nil {
			return err
		}
	}
	return nil
}

// mark walks one table: pairs of a value's difference and a distance, ended by a difference of
// zero that is not the first.
func (t *table) mark(offset uint32, used []bool) error {
	if offset == 0 {
		return nil // there is none
	}
	at := int(offset)
	for i := 0; ; i++ {
		if at >= len(used) {
			return ErrLayout
		}
		value, n := binary.Uvarint(t.b[t.offsets+at : t.first])
		end := at + n
		isLast := value == 0 && i > 0
		if !isLast && n > 0 {
			_, m := binary.Uvarint(t.b[t.offsets+end : t.first])
			n, end = min(n, m), end+m
		}
		if n <= 0 {
			return ErrLayout
		}
		for ; at < end; at++ {
			used[at] = true
		}
		if isLast {
			return nil
		}
	}
}
