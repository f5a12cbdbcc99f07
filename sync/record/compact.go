package record

import (
	"cmp"
	"errors"
	"slices"
	"sort"

	"evenhold/sync/clock"
)

// ErrCompacted says that a document with operations let go of cannot be merged into another:
// what it let go of is at the server.
var ErrCompacted = errors.New("a compacted document is merged into no other")

// ErrBase says that what a compacted document is said to remember contradicts itself.
var ErrBase = errors.New("what was let go of is not sorted, distinct and absent")

// Horizon says what a replica may let go of.
type Horizon struct {
	BeforeMS int64 // stamps from here on stay, in milliseconds since 1970
	// Own is this replica's device. All it wrote stays, so that a server that was set back to a
	// backup gets it again, and what it wrote after number Acked replaces nothing for good.
	Own   clock.Device
	Acked uint64
}

// Base is what a compacted document remembers of the operations it let go of: enough to know
// them again, to tell heads from replaced values and to compare digests.
type Base struct {
	Dropped  []Dropped  // sorted by device
	Digest   [32]byte   // the sum of their hashes, as in Doc.Digest
	Replaced []Replaced // sorted by record, then field
}

// Dropped names operations of one device by their numbers, ascending.
type Dropped struct {
	Device clock.Device
	Seqs   []uint64
}

// Replaced holds, sorted, the stamps of a field's operations that one let go of had replaced.
type Replaced struct {
	Record ID
	Field  string
	Stamps []clock.Stamp
}

// Compact lets go of the operations before the horizon that others replaced, except the one
// that begins each record, and returns how many went. Nothing that a reader sees changes, nor
// the digest, nor what further operations do; only History gets shorter.
func (d *Doc) Compact(h Horizon) int {
	d.Digest() // the sum stays what it was
	gone := map[*entry]bool{}
	for _, r := range d.records {
		for i := range r.fields {
			r.thin(i, h, gone)
		}
	}
	if len(gone) == 0 {
		return 0
	}
	for i := range d.logs {
		log := &d.logs[i]
		log.entries = slices.DeleteFunc(log.entries, func(e *entry) bool {
			if !gone[e] {
				return false
			}
			log.dropped = append(log.dropped, e.op.Seq)
			d.base = AddDigest(d.base, *e.op)
			return true
		})
		sort.Slice(log.dropped, func(a, b int) bool { return log.dropped[a] < log.dropped[b] })
	}
	d.count -= len(gone)
	return len(gone)
}

// thin takes what may go out of one field's list. What the gone ones had replaced is
// remembered at the end of the list, in an entry without an operation of its own.
func (r *Record) thin(at int, h Horizon, gone map[*entry]bool) {
	latest := r.fields[at]
	settled := map[clock.Stamp]bool{}
	for e := latest; e != nil; e = e.older {
		if e.op.Stamp.Device == h.Own && e.op.Seq > h.Acked {
			continue
		}
		for _, stamp := range e.op.Replaces {
			settled[stamp] = true
		}
	}
	var replaced, dropped []clock.Stamp
	for link := &latest.older; *link != nil; {
		e := *link
		mayGo := e.isMark() || settled[e.op.Stamp] && e.op.Stamp.WallMS < h.BeforeMS &&
			e.op.Stamp.Device != h.Own && e != r.first
		if !mayGo {
			link = &e.older
			continue
		}
		replaced = append(replaced, e.op.Replaces...)
		if !e.isMark() {
			dropped = append(dropped, e.op.Stamp)
			gone[e] = true
		}
		*link = e.older
	}
	r.mark(at, slices.DeleteFunc(replaced, func(s clock.Stamp) bool {
		return slices.Contains(dropped, s)
	}))
}

// mark remembers stamps that are replaced by operations that are not here.
func (r *Record) mark(at int, replaced []clock.Stamp) {
	if len(replaced) == 0 {
		return
	}
	sort.Slice(replaced, func(i, j int) bool { return replaced[i].Compare(replaced[j]) < 0 })
	last := r.fields[at]
	for last.older != nil {
		last = last.older
	}
	last.older = &entry{op: &Operation{Replaces: slices.Compact(replaced)}}
}

// isMark reports whether e only remembers what was replaced.
func (e *entry) isMark() bool { return e.op.Seq == 0 }

// Reopen forgets which operations were let go of, so that they can come again: after a server
// was set back, what had replaced them may be gone. Until they have come the digest differs.
func (d *Doc) Reopen() {
	for i := range d.logs {
		d.logs[i].dropped = nil
	}
	d.base = [32]byte{}
	d.isSummed = false
}

// Base returns what d remembers of the operations it let go of; the zero Base if none.
func (d *Doc) Base() Base {
	b := Base{Digest: d.base}
	for _, log := range d.logs {
		if len(log.dropped) > 0 {
			b.Dropped = append(b.Dropped, Dropped{log.device, slices.Clone(log.dropped)})
		}
	}
	for _, r := range d.records {
		for _, latest := range r.fields {
			for e := latest; e != nil; e = e.older {
				if e.isMark() {
					stamps := slices.Clone(e.op.Replaces)
					b.Replaced = append(b.Replaced, Replaced{r.id, latest.op.Field, stamps})
				}
			}
		}
	}
	sort.Slice(b.Replaced, func(i, j int) bool {
		x, y := b.Replaced[i], b.Replaced[j]
		return cmp.Or(x.Record.Compare(y.Record), cmp.Compare(x.Field, y.Field)) < 0
	})
	return b
}

// within returns b without the fields that d does not have.
func (b Base) within(d *Doc) Base {
	b.Replaced = slices.DeleteFunc(b.Replaced, func(replaced Replaced) bool {
		r, found := d.records[replaced.Record]
		if found {
			_, found = r.find(replaced.Field) // a field may be there and say nothing
		}
		return !found
	})
	return b
}

// isCompacted reports whether anything was let go of.
func (d *Doc) isCompacted() bool { return !d.Base().IsZero() }

// IsZero reports whether b remembers nothing.
func (b Base) IsZero() bool {
	return len(b.Dropped) == 0 && len(b.Replaced) == 0 && b.Digest == [32]byte{}
}

// Restore makes the document again that held ops and had base. The error is ErrBase or one of
// Doc.ApplyAll.
func Restore(id ID, base Base, ops []Operation) (*Doc, error) {
	d := NewDoc(id)
	if err := d.ApplyAll(ops); err != nil {
		return nil, err
	}
	if err := d.remember(base); err != nil {
		return nil, err
	}
	return d, nil
}

func (d *Doc) remember(base Base) error {
	var last clock.Device
	for _, dropped := range base.Dropped {
		log := d.log(dropped.Device)
		if dropped.Device <= last || log.dropped != nil || !areNew(dropped.Seqs, log) {
			return ErrBase
		}
		last = dropped.Device
		log.dropped = slices.Clone(dropped.Seqs)
	}
	for _, replaced := range base.Replaced {
		r, found := d.records[replaced.Record]
		if !found || len(replaced.Stamps) == 0 {
			return ErrBase
		}
		at, found := r.find(replaced.Field)
		if !found || r.isMarked(at) {
			return ErrBase
		}
		r.mark(at, slices.Clone(replaced.Stamps))
	}
	d.base = base.Digest
	d.isSummed = false
	return nil
}

func (r *Record) isMarked(at int) bool {
	for e := r.fields[at]; e != nil; e = e.older {
		if e.isMark() {
			return true
		}
	}
	return false
}

// areNew reports whether numbers ascend from 1 and none is of an operation in the log.
func areNew(seqs []uint64, log *deviceLog) bool {
	var last uint64
	for _, seq := range seqs {
		if _, found := log.find(seq); found || seq <= last {
			return false
		}
		last = seq
	}
	return len(seqs) > 0
}
