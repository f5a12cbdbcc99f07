package record

import (
	"errors"
	"slices"

	"golang.org/x/crypto/blake2s"

	"evenhold/sync/clock"
)

// The closed list of what an Author returns beside the errors of Operation.Check and Doc.Apply.
var (
	ErrKind    = errors.New("record is of another kind")
	ErrNoField = errors.New("record would have no field")
	ErrNoHead  = errors.New("value to keep is not among those recorded now")
)

// FieldValue is one field of a record to be created.
type FieldValue struct {
	Field string
	Value Value
}

// Author is one device's pen: it makes operations and keeps the device's running number, clock
// and hash chain.
type Author struct {
	seq   uint64
	chain [32]byte
	clock *clock.Clock
}

// NewAuthor returns the pen of device. seq is the number and chain the chain value of its last
// operation, both zero if it made none. c stamps for device; NewAuthor panics if it does not.
func NewAuthor(device clock.Device, seq uint64, chain [32]byte, c *clock.Clock) *Author {
	if c.Device() != device || device == 0 {
		panic("record: an author needs the clock of its own device")
	}
	return &Author{seq: seq, chain: chain, clock: c}
}

// Device returns the author's device.
func (a *Author) Device() clock.Device { return a.clock.Device() }

// Seq returns the number of the last operation, 0 if there is none.
func (a *Author) Seq() uint64 { return a.seq }

// Chain returns the chain value after the last operation.
func (a *Author) Chain() [32]byte { return a.chain }

// Clock returns the author's clock.
func (a *Author) Clock() *clock.Clock { return a.clock }

// NextID returns the identifier of the next operation: the name of a document or record that
// begins with it.
func (a *Author) NextID() ID { return ID{Device: a.Device(), Seq: a.seq + 1} }

// NextChain returns the chain value after op: the BLAKE2s-256 of the value before it and
// op.Hash(). A device's first operation follows a chain value of zeros.
func NextChain(chain [32]byte, op Operation) [32]byte { return NextChainHash(chain, op.Hash()) }

// NextChainHash returns the chain value after an operation of which only the hash was kept.
func NextChainHash(chain, hash [32]byte) [32]byte {
	return blake2s.Sum256(append(chain[:], hash[:]...))
}

// Write writes one field and applies the operation to d. It replaces the value shown now, and
// leaves others recorded alongside it to Resolve. wallMS is the wall reading in milliseconds.
// It returns ErrKind, or an error of Operation.Check or Doc.Apply; then nothing was written.
func (a *Author) Write(
	d *Doc, rec ID, kind, field string, v Value, wallMS int64,
) (Operation, error) {
	var seen []clock.Stamp
	if r, found := d.Record(rec); found {
		if r.Kind() != kind {
			return Operation{}, ErrKind
		}
		if register := r.Register(field); register.latest != nil {
			seen = []clock.Stamp{register.Winner().Stamp}
		}
	}
	return a.Append(d, Operation{
		Doc: d.ID(), Record: rec, Kind: kind, Field: field, Value: v, Replaces: seen,
	}, wallMS)
}

// Create begins a record with all its fields at once and applies the operations to d. It
// returns the record's identifier, which is that of the first operation. It returns ErrNoField
// if there are no fields, or an error of Operation.Check; then nothing was written.
func (a *Author) Create(
	d *Doc, kind string, fields []FieldValue, wallMS int64,
) (ID, []Operation, error) {
	if len(fields) == 0 {
		return ID{}, nil, ErrNoField
	}
	rec := a.NextID()
	trial := clock.Stamp{WallMS: wallMS, Device: a.Device()}
	for _, f := range fields {
		op := Operation{
			Doc: d.ID(), Record: rec, Kind: kind, Field: f.Field, Value: f.Value,
			Stamp: trial, Seq: rec.Seq,
		}
		if err := op.Check(); err != nil {
			return ID{}, nil, err
		}
	}
	ops := make([]Operation, 0, len(fields))
	for _, f := range fields {
		op, err := a.Write(d, rec, kind, f.Field, f.Value, wallMS)
		if err != nil {
			return ID{}, nil, err
		}
		ops = append(ops, op)
	}
	return rec, ops, nil
}

// Resolve keeps one of the values recorded alongside each other: it writes the value of the
// head stamped keep again, replacing all heads. It returns ErrNoHead if keep is not a head now,
// or an error of Operation.Check; then nothing was written.
func (a *Author) Resolve(
	d *Doc, rec ID, field string, keep clock.Stamp, wallMS int64,
) (Operation, error) {
	r, found := d.Record(rec)
	if !found {
		return Operation{}, ErrNoHead
	}
	register := r.Register(field)
	heads := register.heads()
	at := slices.IndexFunc(heads, func(e *entry) bool { return e.op.Stamp == keep })
	if at < 0 {
		return Operation{}, ErrNoHead
	}
	// A crowd of more heads than one operation may replace is cleared from the latest down;
	// the rest stays listed and can be resolved again.
	latest := heads[:min(len(heads), MaxReplaces)]
	seen := make([]clock.Stamp, 0, len(latest))
	for _, e := range slices.Backward(latest) {
		seen = append(seen, e.op.Stamp)
	}
	return a.Append(d, Operation{
		Doc: d.ID(), Record: rec, Kind: r.Kind(), Field: field, Value: heads[at].op.Value,
		Replaces: seen,
	}, wallMS)
}

// Append stamps and numbers op, whose Stamp and Seq are not yet set, and applies it to d. The
// stamp is after everything it replaces; what it replaces is for the caller to say. It returns
// an error of Operation.Check or Doc.Apply; then nothing was written.
func (a *Author) Append(d *Doc, op Operation, wallMS int64) (Operation, error) {
	// A clock that ran ahead must not keep an operation that could not be written.
	before := *a.clock
	for _, seen := range op.Replaces {
		a.clock.Follow(seen)
	}
	op.Stamp = a.clock.Next(wallMS)
	op.Seq = a.seq + 1
	if _, err := d.Apply(op); err != nil {
		*a.clock = before
		return Operation{}, err
	}
	a.seq = op.Seq
	a.chain = NextChain(a.chain, op)
	return op, nil
}
