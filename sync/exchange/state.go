package exchange

import (
	"encoding/binary"
	"errors"
	"slices"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// State is what a phone keeps between runs beside its documents. For a first run only Device
// is set.
type State struct {
	Device              clock.Device
	Epoch, Number, Seen uint64
	Seq                 uint64 // the last own number used
	Acked               uint64
	AckedChain          [32]byte
	Sent                uint64
	Last                clock.Stamp
	OffsetMS            int64
	Cursors             []Cursor // sorted by document
	Refused             []Refusal
	Orphans             []record.Operation
}

// Cursor says that a document was pulled up to At of Head.
type Cursor struct {
	Doc      record.ID
	At, Head uint64
	IsWhole  bool // whether own operations must be pulled too
}

// ErrState says that bytes are not a State as State.Append writes it.
var ErrState = errors.New("not a stored exchange state")

// State returns what to store. It is to be stored in one go with the documents.
func (p *Phone) State() State {
	p.gather()
	s := State{
		Device: p.author.Device(), Epoch: p.epoch, Number: p.number, Seen: p.seen,
		Seq: p.author.Seq(), Acked: p.acked, AckedChain: p.ackedChain, Sent: p.sent,
		Last: p.author.Clock().Last(), OffsetMS: p.offsetMS,
		Refused: slices.Clone(p.refused), Orphans: slices.Clone(p.orphans),
	}
	for _, id := range p.sortedCursors() {
		c := p.cursors[id]
		s.Cursors = append(s.Cursors, Cursor{Doc: id, At: c.at, Head: c.head, IsWhole: c.isWhole})
	}
	return s
}

// stateVersion is the first byte of a stored State.
const stateVersion = 1

// Append appends the state as bytes to b.
func (s State) Append(b []byte) []byte {
	b = append(b, stateVersion)
	b = binary.BigEndian.AppendUint64(b, uint64(s.Device))
	for _, v := range []uint64{s.Epoch, s.Number, s.Seen, s.Seq, s.Acked, s.Sent,
		uint64(s.OffsetMS), uint64(s.Last.WallMS), uint64(s.Last.Count),
		uint64(s.Last.Device), uint64(len(s.Cursors)), uint64(len(s.Refused))} {
		b = binary.AppendUvarint(b, v)
	}
	b = append(b, s.AckedChain[:]...)
	for _, c := range s.Cursors {
		b = binary.BigEndian.AppendUint64(b, uint64(c.Doc.Device))
		b = binary.AppendUvarint(b, c.Doc.Seq)
		b = binary.AppendUvarint(b, c.At)
		b = binary.AppendUvarint(b, c.Head)
		whole := byte(0)
		if c.IsWhole {
			whole = 1
		}
		b = append(b, whole)
	}
	ops := make([]record.Operation, 0, len(s.Refused)+len(s.Orphans))
	for _, r := range s.Refused {
		b = append(b, byte(len(r.Code)))
		b = append(b, r.Code...)
		ops = append(ops, r.Op)
	}
	return wire.AppendOperations(b, append(ops, s.Orphans...))
}

// ParseState reads what State.Append wrote; it returns ErrState for anything else.
func ParseState(b []byte) (State, error) {
	r := stateReader{rest: b}
	if r.take(1)[0] != stateVersion {
		return State{}, ErrState
	}
	s := State{Device: clock.Device(r.word())}
	s.Epoch, s.Number, s.Seen, s.Seq = r.uvarint(), r.uvarint(), r.uvarint(), r.uvarint()
	s.Acked, s.Sent, s.OffsetMS = r.uvarint(), r.uvarint(), int64(r.uvarint())
	s.Last.WallMS, s.Last.Count = int64(r.uvarint()), uint32(r.uvarint())
	s.Last.Device = clock.Device(r.uvarint())
	cursors, refusals := r.uvarint(), r.uvarint()
	copy(s.AckedChain[:], r.take(32))
	for range cursors {
		c := Cursor{Doc: record.ID{Device: clock.Device(r.word()), Seq: r.uvarint()}}
		c.At, c.Head = r.uvarint(), r.uvarint()
		c.IsWhole = r.take(1)[0] == 1
		if r.isBad {
			return State{}, ErrState
		}
		s.Cursors = append(s.Cursors, c)
	}
	for range refusals {
		code := string(r.take(int(r.take(1)[0])))
		if r.isBad {
			return State{}, ErrState
		}
		s.Refused = append(s.Refused, Refusal{Code: code})
	}
	ops, err := wire.Operations(r.rest)
	if r.isBad || err != nil || len(ops) < len(s.Refused) || s.Device == 0 {
		return State{}, ErrState
	}
	for i := range s.Refused {
		s.Refused[i].Op = ops[i]
	}
	if orphans := ops[len(s.Refused):]; len(orphans) > 0 {
		s.Orphans = orphans
	}
	return s, nil
}

// stateReader takes a stored state apart; after bytes run out every read returns zero.
type stateReader struct {
	rest  []byte
	isBad bool
}

func (r *stateReader) take(n int) []byte {
	if n > len(r.rest) {
		r.isBad = true
		r.rest = nil
		return make([]byte, n)
	}
	taken := r.rest[:n]
	r.rest = r.rest[n:]
	return taken
}

func (r *stateReader) word() uint64 { return binary.BigEndian.Uint64(r.take(8)) }

func (r *stateReader) uvarint() uint64 {
	v, n := binary.Uvarint(r.rest)
	if n <= 0 {
		r.isBad = true
		r.rest = nil
		return 0
	}
	r.rest = r.rest[n:]
	return v
}
