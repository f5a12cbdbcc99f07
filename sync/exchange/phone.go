// Package exchange is the sync conversation as pure state machines: the Phone asks and takes
// the answer in, Judge decides for the server. Neither reads a clock, disk or network; the
// caller hands in the wall reading and carries the bytes.
//
// The phone tells the truth by itself: the server's part is to number, to judge and to pass
// on. SPEC.md holds the numbered rules. A Phone is not safe for use by several goroutines.
package exchange

import (
	"errors"
	"slices"
	"sort"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// SkewMS is how wrong, in milliseconds, a phone's clock may be before it is corrected. A minute
// is our own choice: stamps only break ties, and a slow network must not look like a wrong
// clock. No source.
const SkewMS = 60 * 1000

// The closed list of what a Phone returns.
var (
	ErrStale = errors.New("response to another request than the last")
	ErrPage  = errors.New("response holds operations of another document than it says")
)

// Phone is one device's end of the conversation. It holds the documents.
//
// Invariant: pending holds every operation of this device past acked, in order, without gaps,
// up to the last gather.
type Phone struct {
	author *record.Author
	docs   map[record.ID]*record.Doc

	epoch, number, seen uint64
	acked               uint64   // the last own operation whose verdict is known
	ackedChain          [32]byte // the chain value after it
	sent                uint64   // the last own operation that ever left this phone
	offsetMS            int64    // added to the phone's reading to give the server's time

	pending   []record.Operation
	withdrawn map[uint64]bool // numbers in pending that were refused before
	refused   []Refusal
	orphans   []record.Operation // of an earlier identity, not known to have arrived
	cursors   map[record.ID]*cursor

	asked      wire.Request // the last; its answer is read beside it
	isAwaiting bool         // a request is out
	isAgreed   bool         // the last answer left phone and server with one epoch and chain
	isPlain    bool         // the server cannot read version 3
	isHeard    bool         // the server's time was heard since this Phone was made
	isForked   bool         // this identity is of no more use
	isCurrent  bool         // the last response ended the news
}

// cursor says how far one document was pulled: operations up to at, of head. Until it has
// caught up once, isWhole says that the document was not held when the cursor was made: it may
// have been wiped before, own operations and all.
type cursor struct {
	at, head uint64
	isWhole  bool
}

// move brings the cursor forward.
func (c *cursor) move(at, head uint64) {
	c.at, c.head = max(c.at, at), max(c.head, head)
	if c.at >= c.head {
		c.isWhole = false
	}
}

// NewPhone returns a phone as it was when state was stored, with its documents as they are
// now: what was written after state was stored is found in them.
func NewPhone(state State, docs []*record.Doc) *Phone {
	p := &Phone{
		docs:  make(map[record.ID]*record.Doc, len(docs)),
		epoch: state.Epoch, number: state.Number, seen: state.Seen,
		acked: state.Acked, ackedChain: state.AckedChain, sent: state.Sent,
		offsetMS: state.OffsetMS, refused: slices.Clone(state.Refused),
		orphans: slices.Clone(state.Orphans), cursors: map[record.ID]*cursor{},
		withdrawn: map[uint64]bool{},
	}
	for _, c := range state.Cursors {
		p.cursors[c.Doc] = &cursor{at: c.At, head: c.Head, isWhole: c.IsWhole}
	}
	last := state.Last
	for _, d := range docs {
		p.docs[d.ID()] = d
		for _, op := range d.OperationsBy(state.Device, 0) {
			if op.Stamp.Compare(last) > 0 {
				last = op.Stamp
			}
		}
	}
	for _, r := range p.refused {
		if r.Op.Stamp.Device == state.Device && r.Op.Seq > p.acked {
			p.withdrawn[r.Op.Seq] = true
		}
	}
	p.author = record.NewAuthor(
		state.Device, p.acked, p.ackedChain, clock.New(state.Device, last))
	p.regather(state.Seq)
	if p.isForked {
		// Part of the memory is gone, so cursors may claim more than there is.
		p.seen, p.cursors = 0, map[record.ID]*cursor{}
	}
	return p
}

// Author returns the pen to write with. It changes with Handle and Renew: ask each time.
func (p *Phone) Author() *record.Author { return p.author }

// WallMS turns the phone's own wall reading into the one to write with, in milliseconds.
func (p *Phone) WallMS(readMS int64) int64 { return readMS + p.offsetMS }

// Doc returns a document, and false if the phone does not hold it. It changes with Handle and
// Renew: ask each time.
func (p *Phone) Doc(id record.ID) (*record.Doc, bool) {
	d, found := p.docs[id]
	return d, found
}

// Open returns a document, an empty one if the phone does not hold it yet.
func (p *Phone) Open(id record.ID) *record.Doc {
	d, found := p.docs[id]
	if !found {
		d = record.NewDoc(id)
		p.docs[id] = d
	}
	return d
}

// Docs returns the identifiers of the documents that hold anything, sorted.
func (p *Phone) Docs() []record.ID {
	var ids []record.ID
	for id, d := range p.docs {
		if d.Len() > 0 {
			ids = append(ids, id)
		}
	}
	sort.Slice(ids, func(i, j int) bool { return ids[i].Compare(ids[j]) < 0 })
	return ids
}

// Refused returns the operations that the server refused, oldest first.
func (p *Phone) Refused() []Refusal { return slices.Clone(p.refused) }

// gather adds to pending what was written since. An identity that cannot go on sends nothing.
func (p *Phone) gather() {
	if p.isForked {
		return
	}
	through := p.acked + uint64(len(p.pending))
	if through == p.author.Seq() {
		return
	}
	p.pending = append(p.pending, p.ownPast(through)...)
}

// ownPast returns this device's operations past a number, in order: those in documents and
// those refused.
func (p *Phone) ownPast(after uint64) []record.Operation {
	device := p.author.Device()
	var own []record.Operation
	for _, d := range p.docs {
		own = append(own, d.OperationsBy(device, after)...)
	}
	for _, r := range p.refused {
		if r.Op.Stamp.Device == device && r.Op.Seq > after {
			own = append(own, r.Op)
		}
	}
	sort.Slice(own, func(i, j int) bool { return own[i].Seq < own[j].Seq })
	return own
}

// regather works pending and the author's number and chain out from the documents, from acked
// on. lastSeq is the last number known to have been used. If operations are missing, this
// identity cannot go on.
func (p *Phone) regather(lastSeq uint64) {
	p.pending = p.ownPast(p.acked)
	chain := p.ackedChain
	for i, op := range p.pending {
		if op.Seq != p.acked+uint64(i)+1 {
			p.isForked = true
			p.pending = p.pending[:i]
			break
		}
		chain = record.NextChain(chain, op)
	}
	end := p.acked + uint64(len(p.pending))
	if end < lastSeq {
		p.isForked = true
	}
	if p.isForked {
		// Writing goes on, past every number that may have been used, until Renew.
		end = lastSeq
		for _, op := range p.ownPast(lastSeq) {
			end = op.Seq
		}
	}
	p.author = record.NewAuthor(p.author.Device(), end, chain, p.author.Clock())
}

// sortedCursors returns the documents with cursors, sorted.
func (p *Phone) sortedCursors() []record.ID {
	ids := make([]record.ID, 0, len(p.cursors))
	for id := range p.cursors {
		ids = append(ids, id)
	}
	sort.Slice(ids, func(i, j int) bool { return ids[i].Compare(ids[j]) < 0 })
	return ids
}
