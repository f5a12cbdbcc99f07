package exchange

import (
	"slices"
	"sort"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// correct takes in how far the server's time lies from the phone's reading. If writing went on
// with a clock that was wrong, operations that never left the phone are stamped anew: same
// order, corrected reading, the original one kept.
func (p *Phone) correct(serverMS, readMS int64, out *Outcome) {
	p.isHeard = true
	heardMS := serverMS - readMS
	if abs(heardMS) < SkewMS {
		heardMS = 0
	}
	wrongMS := p.offsetMS
	if abs(heardMS-wrongMS) < SkewMS {
		return
	}
	p.offsetMS = heardMS
	unseen := slices.IndexFunc(p.pending, func(op record.Operation) bool {
		return op.Seq > p.sent
	})
	if unseen < 0 {
		unseen = len(p.pending)
	}
	p.restamp(unseen, wrongMS, serverMS, out)
}

func abs(v int64) int64 { return max(v, -v) }

// restamp stamps pending[from:] anew, after wrongMS had been added to the phone's readings. It
// also gives the author a clock that is not ahead of the server's time without need.
func (p *Phone) restamp(from int, wrongMS, serverMS int64, out *Outcome) {
	device := p.author.Device()
	old := slices.Clone(p.pending[from:])
	p.remove(slices.DeleteFunc(slices.Clone(old), func(op record.Operation) bool {
		return p.withdrawn[op.Seq]
	}), out)
	c := clock.New(device, p.lastOwn(serverMS))
	renamed := map[clock.Stamp]clock.Stamp{}
	for i, op := range old {
		readMS := op.ReadMS
		if readMS == 0 {
			readMS = op.Stamp.WallMS - wrongMS
		}
		anew := op
		anew.ReadMS = max(readMS, 1)
		anew.Replaces = rename(op.Replaces, renamed)
		for _, seen := range anew.Replaces {
			c.Follow(seen)
		}
		// Nothing was done later than now, nor before the calendar.
		anew.Stamp = c.Next(min(max(readMS+p.offsetMS, 0), serverMS))
		if anew.Check() == nil {
			op = anew
		}
		renamed[old[i].Stamp] = op.Stamp
		p.replace(from+i, op, out)
	}
	chain := p.ackedChain
	for _, op := range p.pending {
		chain = record.NextChain(chain, op)
	}
	p.author = record.NewAuthor(device, p.acked+uint64(len(p.pending)), chain, c)
}

// replace puts an operation stamped anew where the old one was: in a document, or in the list
// of those refused.
func (p *Phone) replace(at int, op record.Operation, out *Outcome) {
	p.pending[at] = op
	if p.withdrawn[op.Seq] {
		for i := range p.refused {
			if p.refused[i].Op.ID() == op.ID() {
				p.refused[i].Op = op
			}
		}
		return
	}
	p.put(op, out)
}

// put applies an own operation that was in a document before.
func (p *Phone) put(op record.Operation, out *Outcome) {
	if _, err := p.Open(op.Doc).Apply(op); err != nil {
		panic("exchange: an own operation does not apply again: " + err.Error())
	}
	out.Applied = append(out.Applied, op)
}

// lastOwn returns the latest stamp of this device in documents that was accepted, or does not
// lie too far ahead of wallMS: others will be refused and written again.
func (p *Phone) lastOwn(wallMS int64) clock.Stamp {
	var last clock.Stamp
	for _, d := range p.docs {
		for _, op := range d.OperationsBy(p.author.Device(), 0) {
			isAhead := op.Seq > p.acked && op.Stamp.WallMS-clock.MaxAheadMS > wallMS
			if !isAhead && op.Stamp.Compare(last) > 0 {
				last = op.Stamp
			}
		}
	}
	return last
}

// rename returns stamps with those that were changed replaced, sorted.
func rename(stamps []clock.Stamp, renamed map[clock.Stamp]clock.Stamp) []clock.Stamp {
	if len(stamps) == 0 {
		return nil
	}
	out := slices.Clone(stamps)
	for i, s := range out {
		if now, found := renamed[s]; found {
			out[i] = now
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Compare(out[j]) < 0 })
	return slices.Compact(out)
}

// reissueFuture writes again what was just refused for its stamp, under a new number and the
// corrected time; nobody else has taken it in. A value that was corrected since is not.
func (p *Phone) reissueFuture(wallMS int64, out *Outcome) {
	renamed := map[clock.Stamp]clock.Stamp{}
	for _, r := range out.Refused {
		if r.Code != wire.CodeFuture || p.isReplaced(r.Op) {
			continue
		}
		if len(renamed) == 0 {
			c := clock.New(p.author.Device(), p.lastOwn(wallMS))
			p.author = record.NewAuthor(
				p.author.Device(), p.author.Seq(), p.author.Chain(), c)
		}
		op := r.Op
		if op.ReadMS == 0 {
			op.ReadMS = op.Stamp.WallMS
		}
		op.Replaces = p.earlier(op, rename(op.Replaces, renamed), wallMS)
		again, err := p.author.Append(p.Open(op.Doc), op, wallMS)
		if err != nil {
			continue // it stays listed as refused
		}
		renamed[r.Op.Stamp] = again.Stamp
		out.Applied = append(out.Applied, again)
	}
	p.gather()
}

// earlier returns those of the stamps that op replaces which do not themselves lie too far ahead,
// or which the server has accepted all the same.
func (p *Phone) earlier(op record.Operation, stamps []clock.Stamp, wallMS int64) []clock.Stamp {
	var held []clock.Stamp
	if r, found := p.Open(op.Doc).Record(op.Record); found {
		for _, one := range r.Register(op.Field).History() {
			held = append(held, one.Stamp)
		}
	}
	return slices.DeleteFunc(stamps, func(s clock.Stamp) bool {
		return s.WallMS-clock.MaxAheadMS > wallMS && !slices.Contains(held, s)
	})
}

func (p *Phone) isReplaced(op record.Operation) bool {
	d, isHeld := p.docs[op.Doc]
	if !isHeld {
		return true // the document went; the refusal stays listed
	}
	r, found := d.Record(op.Record)
	if !found {
		return false
	}
	for _, later := range r.Register(op.Field).History() {
		if slices.Contains(later.Replaces, op.Stamp) {
			return true
		}
	}
	return false
}
