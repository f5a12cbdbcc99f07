package exchange

import (
	"errors"
	"slices"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// Outcome is what taking in a response changed, to be stored in this order and in one go:
// Removed, Gone, Applied, then the State.
type Outcome struct {
	Removed []record.Operation // no longer in documents: refused, orphaned or stamped anew
	Applied []record.Operation // new in documents
	Gone    []wire.Gone        // documents wiped, and why
	Refused []Refusal          // newly refused; kept in the State

	Problem  string // "" or a code for the whole exchange
	IsForked bool   // this identity is of no more use: get another and call Renew
	IsReset  bool   // the server was set back: store every document whole
	IsMore   bool   // whether to send the next request at once
}

// Handle takes in the response to the last request. readMS is the phone's own wall reading.
// It returns ErrStale or ErrPage; then nothing changed but, after ErrPage, what came before
// the page.
func (p *Phone) Handle(resp wire.Response, readMS int64) (Outcome, error) {
	var out Outcome
	// A server that cannot read the version of a request cannot give its number back.
	isUnread := resp.Problem == wire.CodeSchema && resp.Number == 0
	if !p.isAwaiting || resp.Number != p.number && !isUnread {
		return out, ErrStale
	}
	p.isAwaiting = false
	asked := p.asked
	p.asked = wire.Request{}
	p.gather()
	if isUnread && asked.IsTaught {
		p.isPlain, out.IsMore = true, true
		return out, nil
	}
	switch resp.Problem {
	case "", wire.CodeForked, wire.CodeGap:
	default:
		out.Problem = resp.Problem
		return out, nil
	}
	if p.isAgreed = !resp.IsUnclear; resp.IsUnclear {
		out.IsMore = true
		return out, nil
	}
	isReset := p.meet(resp.Epoch)
	out.IsReset = isReset
	p.acknowledge(resp, &out)
	if p.isForked || resp.Problem == wire.CodeForked {
		// Pages leave this device's operations out; those of a twin would be missed.
		p.isForked = true
		out.IsForked = true
		return out, nil
	}
	if resp.WallMS >= 0 && resp.WallMS < record.MaxWallMS {
		p.correct(resp.WallMS, readMS, &out)
	}
	p.reissueFuture(p.WallMS(readMS), &out)
	p.forget(resp.Gone, &out)
	if !isReset {
		if err := p.takePages(resp.Pages, p.WallMS(readMS), &out); err != nil {
			return out, err
		}
		p.takeNews(resp)
	}
	isMoreNews := isReset || resp.MoreChanged
	p.isCurrent = !isMoreNews
	if p.isCurrent && !p.isBehind() {
		p.adopt(p.WallMS(readMS), &out)
	}
	out.IsMore = len(p.pending) > 0 || isMoreNews || p.isBehind()
	return out, nil
}

// meet takes in the server's epoch and reports whether cursors were reset: the server was set
// back, so its numbers mean something else now.
func (p *Phone) meet(epoch uint64) (isReset bool) {
	if p.epoch == epoch {
		return false
	}
	isReset = p.epoch != 0
	p.epoch = epoch
	if isReset {
		p.seen = 0
		p.cursors = map[record.ID]*cursor{}
		for _, d := range p.docs {
			d.Reopen()
		}
	}
	return isReset
}

// forget wipes documents that the reader may no longer see. Own operations there that are not
// known to have arrived are listed as refused, and withdrawn so that their numbers are used up.
// Of a document that was erased nothing stays: not what was refused either, once the server has
// heard that its numbers are used up.
func (p *Phone) forget(gone []wire.Gone, out *Outcome) {
	for _, g := range gone {
		_, isHeld := p.docs[g.Doc]
		delete(p.docs, g.Doc)
		delete(p.cursors, g.Doc)
		if isHeld {
			out.Gone = append(out.Gone, g)
		}
		// What was stamped anew a moment ago goes with it, or it would be stored after all.
		out.Applied = slices.DeleteFunc(out.Applied, func(op record.Operation) bool {
			return op.Doc == g.Doc
		})
		code := wire.CodeGone
		if g.Reason == wire.CodeErased {
			code = wire.CodeErased
			p.erase(g.Doc)
		}
		for _, op := range p.pending {
			if op.Doc == g.Doc && !p.withdrawn[op.Seq] {
				p.withdrawn[op.Seq] = true
				p.refuse(Refusal{Op: op, Code: code}, out)
			}
		}
	}
}

// erase drops what is listed of an erased document, but for operations that the server has yet
// to hear of: the chain needs them until then.
func (p *Phone) erase(doc record.ID) {
	p.orphans = slices.DeleteFunc(p.orphans, func(op record.Operation) bool { return op.Doc == doc })
	own := p.author.Device()
	p.refused = slices.DeleteFunc(p.refused, func(r Refusal) bool {
		isDue := r.Op.Stamp.Device == own && r.Op.Seq > p.acked
		return r.Op.Doc == doc && !isDue
	})
	for i, r := range p.refused {
		if r.Op.Doc == doc {
			p.refused[i].Code = wire.CodeErased
		}
	}
}

func (p *Phone) refuse(r Refusal, out *Outcome) {
	p.refused = append(p.refused, r)
	out.Refused = append(out.Refused, r)
}

func (p *Phone) takePages(pages []wire.Page, wallMS int64, out *Outcome) error {
	for _, page := range pages {
		for _, op := range page.Ops {
			if op.Doc != page.Doc {
				return ErrPage
			}
		}
		c, found := p.cursors[page.Doc]
		if !found {
			c = &cursor{}
		}
		if page.From > c.at {
			continue // asked for before the document went
		}
		p.cursors[page.Doc] = c
		for _, op := range page.Ops {
			p.take(op, wallMS, out)
		}
		c.move(max(page.To, page.From+uint64(len(page.Ops))), page.Head)
	}
	return nil
}

// take applies one operation from the server.
func (p *Phone) take(op record.Operation, wallMS int64, out *Outcome) {
	d := p.Open(op.Doc)
	isNew, err := d.Apply(op)
	if errors.Is(err, record.ErrForked) {
		// Two installs shared an identity. What the server took in is what everybody has.
		held, _ := d.Operation(op.ID())
		p.remove([]record.Operation{held}, out)
		isNew, err = p.docs[op.Doc].Apply(op)
	}
	if err != nil || !isNew {
		// The server checked its shape; what a later version thinks sound is passed over here
		// and pulled again by that version.
		return
	}
	out.Applied = append(out.Applied, op)
	// A stamp too far ahead is merged all the same: a record is never dropped for its clock.
	if err := p.author.Clock().Observe(op.Stamp, wallMS); err != nil {
		return
	}
}

// takeNews moves heads. A document that already holds everything is not pulled.
func (p *Phone) takeNews(resp wire.Response) {
	p.seen = max(p.seen, resp.Seen)
	for _, changed := range resp.Changed {
		c, found := p.cursors[changed.Doc]
		if !found {
			_, isHeld := p.docs[changed.Doc]
			c = &cursor{head: changed.Head, isWhole: !isHeld}
			p.cursors[changed.Doc] = c
		}
		at := uint64(0)
		d, isHeld := p.docs[changed.Doc]
		// A digest takes a hash of every operation: it is asked for only if it can be equal.
		isAsMany := isHeld && c.at < changed.Head && d.Known() == changed.Head
		if isAsMany && resp.IsDigest(d.Digest(), changed.Digest) {
			at = changed.Head
		}
		c.move(at, changed.Head)
	}
}

// remove takes operations out of documents.
func (p *Phone) remove(ops []record.Operation, out *Outcome) {
	drop := map[record.ID]map[record.ID]bool{}
	for _, op := range ops {
		if drop[op.Doc] == nil {
			drop[op.Doc] = map[record.ID]bool{}
		}
		drop[op.Doc][op.ID()] = true
	}
	for doc, ids := range drop {
		if d, isHeld := p.docs[doc]; isHeld {
			p.docs[doc] = d.Without(ids)
		}
	}
	out.Removed = append(out.Removed, ops...)
}
