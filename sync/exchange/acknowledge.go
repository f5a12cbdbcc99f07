package exchange

import (
	"slices"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// acknowledge takes in how far the server judged this device and what it refused.
func (p *Phone) acknowledge(resp wire.Response, out *Outcome) {
	if p.isForked {
		return
	}
	if resp.Have > p.author.Seq() {
		// The server knows more of this device than the device does: it was set back.
		p.isForked = true
		return
	}
	if resp.Have < p.acked {
		p.rewind(resp.Have, resp.HaveChain)
		return
	}
	n := int(resp.Have - p.acked)
	chain := p.ackedChain
	for _, op := range p.pending[:n] {
		chain = record.NextChain(chain, op)
	}
	// Where the chain is not told, the next request's proof covers it.
	isTold := !resp.IsBrief || !resp.IsKnown
	if isTold && chain != resp.HaveChain {
		p.isForked = true
		return
	}
	codes := make(map[uint64]string, len(resp.Verdicts))
	for _, v := range resp.Verdicts {
		codes[v.Seq] = v.Code
	}
	judged := p.pending[:n]
	p.pending = p.pending[n:]
	p.acked, p.ackedChain = resp.Have, chain
	p.sent = max(p.sent, p.acked)
	p.settle(judged, codes, out)
}

// settle moves what was refused out of the documents.
func (p *Phone) settle(
	judged []record.Operation, codes map[uint64]string, out *Outcome,
) {
	var refused []record.Operation
	for _, op := range judged {
		code := codes[op.Seq]
		switch {
		case p.withdrawn[op.Seq]:
			delete(p.withdrawn, op.Seq)
			if code == "" {
				p.unlist(op, out)
			} else {
				p.dropErased(op)
			}
		case code == wire.CodeErased:
			// Judged and dropped: nothing of an erased document is listed.
			refused = append(refused, op)
		case code != "":
			refused = append(refused, op)
			p.refuse(Refusal{Op: op, Code: code}, out)
		}
	}
	p.remove(refused, out)
}

// unlist takes back a refusal: the operation had arrived before it was withdrawn.
func (p *Phone) unlist(op record.Operation, out *Outcome) {
	p.refused = slices.DeleteFunc(p.refused, func(r Refusal) bool {
		return r.Op.ID() == op.ID()
	})
	if _, isHeld := p.docs[op.Doc]; isHeld {
		p.put(op, out)
	}
}

// dropErased forgets a withdrawn operation of a document that was erased.
func (p *Phone) dropErased(op record.Operation) {
	p.refused = slices.DeleteFunc(p.refused, func(r Refusal) bool {
		return r.Op.ID() == op.ID() && r.Code == wire.CodeErased
	})
}

// rewind goes back to an earlier own operation because the server, set back itself, knows no
// later one. What it lacks is pushed again; what it had refused is withdrawn.
func (p *Phone) rewind(have uint64, haveChain [32]byte) {
	lastSeq, lastChain := p.author.Seq(), p.author.Chain()
	p.acked, p.ackedChain = have, haveChain
	p.regather(lastSeq)
	if p.author.Chain() != lastChain {
		p.isForked = true
	}
	for _, r := range p.refused {
		if r.Op.Stamp.Device == p.author.Device() && r.Op.Seq > have {
			p.withdrawn[r.Op.Seq] = true
		}
	}
}
