// Package record is the merge: documents of records of fields, each field a register that many
// devices may write without seeing each other.
//
// A document is a set of operations and nothing else. Merging is the union of two sets, so it
// is commutative, associative and idempotent, and two replicas that hold the same operations
// are equal: strong eventual consistency as defined in "Conflict-Free Replicated Data Types",
// SSS 2011, doi:10.1007/978-3-642-24550-3_29. Of a field's operations, those that no other
// replaces are its heads; the head with the highest stamp is shown and the others are kept and
// listed. Nothing is ever removed by a merge; Compact lets go of what others replaced long ago,
// on a replica that can have it again.
//
// The package is pure and its types are not safe for use by several goroutines at once.
package record

import (
	"cmp"
	"errors"
	"slices"

	"evenhold/sync/clock"
)

// ErrForked says that one identifier names two different operations: two installs share one
// device identity. Nothing was applied.
var ErrForked = errors.New("two different operations share one identifier")

// ErrOtherDocument says that an operation or document belongs to another document.
var ErrOtherDocument = errors.New("belongs to another document")

// Doc is one document: a set of operations, with its records worked out.
type Doc struct {
	id      ID
	logs    []deviceLog // sorted by device
	records map[ID]*Record
	order   []*Record // every record; in order of creation when isOrdered
	count   int

	isOrdered bool
	isSummed  bool // whether sum covers every operation
	sum       [32]byte
	base      [32]byte // the part of sum whose operations were let go of
}

// deviceLog holds one device's operations in order of their numbers.
type deviceLog struct {
	device  clock.Device
	entries []*entry
	dropped []uint64 // numbers of operations let go of, ascending
}

// entry is one operation in the list of its field, latest stamp first.
type entry struct {
	op    *Operation
	older *entry
}

// NewDoc returns an empty document.
func NewDoc(id ID) *Doc { return &Doc{id: id, records: map[ID]*Record{}} }

// ID returns the document's identifier.
func (d *Doc) ID() ID { return d.id }

// Len returns the number of operations.
func (d *Doc) Len() int { return d.count }

// Known returns the number of operations with those that Compact let go of.
func (d *Doc) Known() uint64 {
	known := uint64(d.count)
	for _, log := range d.logs {
		known += uint64(len(log.dropped))
	}
	return known
}

// Apply adds one operation and reports whether it was new. It returns ErrOtherDocument,
// ErrForked or an error of Operation.Check, and then nothing was applied.
func (d *Doc) Apply(op Operation) (changed bool, err error) {
	return d.add(&entry{op: &op})
}

// ApplyAll adds many operations at once, as when a document is loaded: it takes memory once
// for all. The document keeps ops, and nobody else may write to them any more. It stops at the
// first error of Apply; what came before is applied.
func (d *Doc) ApplyAll(ops []Operation) error {
	entries := make([]entry, len(ops))
	d.expect(ops)
	for i := range ops {
		entries[i].op = &ops[i]
		if _, err := d.add(&entries[i]); err != nil {
			return err
		}
	}
	return nil
}

// expect makes room for operations in the logs of their devices.
func (d *Doc) expect(ops []Operation) {
	for start := 0; start < len(ops); {
		device, end := ops[start].Stamp.Device, start
		for end < len(ops) && ops[end].Stamp.Device == device {
			end++
		}
		log := d.log(device)
		log.entries = slices.Grow(log.entries, end-start)
		start = end
	}
}

func (d *Doc) add(added *entry) (changed bool, err error) {
	op := added.op
	if op.Doc != d.id {
		return false, ErrOtherDocument
	}
	if err := op.Check(); err != nil {
		return false, err
	}
	log := d.log(op.Stamp.Device)
	if _, gone := slices.BinarySearch(log.dropped, op.Seq); gone {
		return false, nil
	}
	at, found := log.find(op.Seq)
	if found {
		if !log.entries[at].op.Equal(*op) {
			return false, ErrForked
		}
		return false, nil
	}
	log.entries = slices.Insert(log.entries, at, added)
	d.count++
	d.place(added)
	if d.isSummed {
		d.sum = AddDigest(d.sum, *op)
	}
	return true, nil
}

// Merge adds every operation of other. It returns ErrOtherDocument, ErrCompacted or, after
// applying what could be applied, the first other error of Apply.
func (d *Doc) Merge(other *Doc) error {
	if other.id != d.id {
		return ErrOtherDocument
	}
	if other.isCompacted() {
		return ErrCompacted
	}
	var first error
	for _, log := range other.logs {
		for _, e := range log.entries {
			if _, err := d.Apply(*e.op); err != nil && first == nil {
				first = err
			}
		}
	}
	return first
}

// Without returns a document that holds every operation of d except those named in drop. It is
// for a device's own operations that nobody else has taken in: a merge never needs it.
func (d *Doc) Without(drop map[ID]bool) *Doc {
	rest := slices.DeleteFunc(d.Operations(), func(op Operation) bool { return drop[op.ID()] })
	kept := NewDoc(d.id)
	err := kept.ApplyAll(rest)
	if err == nil && d.isCompacted() {
		err = kept.remember(d.Base().within(kept))
	}
	if err != nil {
		panic("record: an applied operation does not apply again: " + err.Error())
	}
	return kept
}

func (d *Doc) log(device clock.Device) *deviceLog {
	at, found := slices.BinarySearchFunc(d.logs, device, func(l deviceLog, want clock.Device) int {
		return cmp.Compare(l.device, want)
	})
	if !found {
		d.logs = slices.Insert(d.logs, at, deviceLog{device: device})
	}
	return &d.logs[at]
}

func (l *deviceLog) find(seq uint64) (at int, found bool) {
	// Operations of one device nearly always arrive in order.
	if end := len(l.entries); end == 0 || l.entries[end-1].op.Seq < seq {
		return end, false
	}
	return slices.BinarySearchFunc(l.entries, seq, func(e *entry, want uint64) int {
		return cmp.Compare(e.op.Seq, want)
	})
}

// Operation returns the operation with that identifier, and false if d does not hold it.
func (d *Doc) Operation(id ID) (Operation, bool) {
	for _, log := range d.logs {
		if log.device != id.Device {
			continue
		}
		if at, found := log.find(id.Seq); found {
			return *log.entries[at].op, true
		}
	}
	return Operation{}, false
}

// Operations returns every operation, sorted by device, then number.
func (d *Doc) Operations() []Operation {
	all := make([]Operation, 0, d.count)
	for _, log := range d.logs {
		for _, e := range log.entries {
			all = append(all, *e.op)
		}
	}
	return all
}

// OperationsBy returns the operations of one device with numbers past after, in order.
func (d *Doc) OperationsBy(device clock.Device, after uint64) []Operation {
	var own []Operation
	for _, log := range d.logs {
		if log.device != device {
			continue
		}
		at, _ := log.find(after + 1)
		for _, e := range log.entries[at:] {
			own = append(own, *e.op)
		}
	}
	return own
}
