package main

import (
	"bytes"
	"encoding/binary"
	"math"
	"slices"
	"strconv"

	"evenhold/pwa/bench/merge/trace"

	"github.com/andybalholm/brotli"
)

// columns is what a store that may forget how anything merges would keep of a trace: each field of
// each set of records as one column, packed in the way that is shortest for it.
type columns struct {
	texts map[string][]string
	whole map[string][]int64
}

// bound returns the bytes of the whole years' commits in columns: the records as they end up, and
// beside them who wrote when, what was corrected, from what, and what was taken back. Nothing in
// it says which write saw which, so no two such stores could be merged: it is a lower bound on
// the size of a record with its history, not a rival.
func bound(lines []trace.Line) int {
	c := columns{texts: map[string][]string{}, whole: map[string][]int64{}}
	beganMS := map[string]int64{}
	var before int64
	for _, line := range lines {
		if line.Part != trace.PartYears || line.IsSync {
			continue
		}
		c.text("phone", line.Phone)
		since := line.AtMS - before
		before = line.AtMS
		for i, op := range line.Ops {
			c.text("verb", op.Do+" "+op.In)
			switch op.Do {
			case trace.Add:
				at, held := wholeOf(op, "beganMS", "atMS"), wholeOf(op, "holdS")
				beganMS[op.ID] = at
				if i == 0 && at > 0 {
					since = line.AtMS - at - held*1000
				}
				c.begin(op)
			default:
				c.change(op, beganMS[op.ID])
			}
		}
		c.number("since", since)
	}
	total := 0
	for _, values := range c.texts {
		total += leastText(values)
	}
	for _, values := range c.whole {
		total += leastWhole(values)
	}
	return total
}

// begin adds a new record's fields as they were first written. Its identifier is the next of the
// phone that writes, so it costs nothing.
func (c columns) begin(op trace.Op) {
	if op.In == trace.Plan {
		c.number(op.In+"/place", op.Index)
	}
	for _, f := range op.Fields {
		if f.Name == "training" && f.Value.Text != nil {
			c.id(op.In+"/training", *f.Value.Text)
			continue
		}
		c.value(op.In+"/"+f.Name, f.Value)
	}
}

// change adds what became of a record that began at that time.
func (c columns) change(op trace.Op, beganMS int64) {
	if op.Field == "doneMS" {
		c.number("session length", op.Value.Whole-beganMS)
		return
	}
	c.id("changed", op.ID)
	c.text("changed field", op.Field)
	if op.Value != nil {
		c.value("changed to/"+op.Field, *op.Value)
	}
}

// wholeOf returns the first of the named whole numbers that a new record has, or 0.
func wholeOf(op trace.Op, names ...string) int64 {
	for _, f := range op.Fields {
		if slices.Contains(names, f.Name) {
			return f.Value.Whole
		}
	}
	return 0
}

func (c columns) text(name, v string)         { c.texts[name] = append(c.texts[name], v) }
func (c columns) number(name string, v int64) { c.whole[name] = append(c.whole[name], v) }

func (c columns) value(name string, v trace.Value) {
	if v.Text != nil {
		c.text(name, *v.Text)
		return
	}
	c.number(name, v.Whole)
}

// id takes an identifier apart: the phone's letter and its running number.
func (c columns) id(name, id string) {
	n, err := strconv.ParseInt(id[1:], 36, 64)
	if err != nil {
		panic("bench: an identifier without a number: " + id)
	}
	c.text(name+" phone", id[:1])
	c.number(name, n)
}

// leastText returns the bytes of the shorter of two packings: all texts one after another, or a
// list of those that there are and the entropy of the numbers in it.
func leastText(values []string) int {
	var joined []byte
	count := map[string]int{}
	var list []string
	for _, v := range values {
		joined = append(append(joined, v...), '\n')
		if count[v]++; count[v] == 1 {
			list = append(list, v)
		}
	}
	listed := 0
	for _, v := range list {
		listed += len(v) + 1
	}
	return min(packed(joined), listed+entropyBytes(count, len(values)), packed(numbered(values, list)))
}

func numbered(values, list []string) []byte {
	at := map[string]uint64{}
	var b []byte
	for i, v := range list {
		at[v] = uint64(i)
		b = append(append(b, v...), '\n')
	}
	for _, v := range values {
		b = binary.AppendUvarint(b, at[v])
	}
	return b
}

// leastWhole returns the bytes of the shortest of: the numbers, their differences, either
// compressed, or their entropy with the numbers that there are.
func leastWhole(values []int64) int {
	var plain, apart []byte
	count := map[string]int{}
	listed, before := 0, int64(0)
	for _, v := range values {
		one := binary.AppendVarint(nil, v)
		plain = append(plain, one...)
		apart = binary.AppendVarint(apart, v-before)
		before = v
		if count[string(one)]++; count[string(one)] == 1 {
			listed += len(one)
		}
	}
	return min(packed(plain), packed(apart), listed+entropyBytes(count, len(values)))
}

// entropyBytes returns what a perfect coder of the shares that the values have would write.
func entropyBytes(count map[string]int, of int) int {
	bits := 0.0
	for _, n := range count {
		bits -= float64(n) * math.Log2(float64(n)/float64(of))
	}
	return int(math.Ceil(bits / 8))
}

// packed returns the size of b under the strongest brotli, or plain where that is less.
func packed(b []byte) int {
	var out bytes.Buffer
	w := brotli.NewWriterLevel(&out, brotli.BestCompression)
	if _, err := w.Write(b); err != nil {
		panic(err) // a buffer takes everything
	}
	if err := w.Close(); err != nil {
		panic(err)
	}
	return min(len(b), out.Len())
}
