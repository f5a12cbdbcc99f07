package exchange

import (
	"slices"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// Limits bounds one request.
type Limits struct {
	Push  int         // operations, at most wire.MaxPush
	Pulls int         // documents, at most wire.MaxPulls
	First []record.ID // documents to pull before all others: the roster, the client on screen
}

// Request returns what to send next. The State must be stored before the bytes leave: it says
// what may have been seen by others. readMS is the phone's own reading.
//
// A phone that has not heard the server's time since it was made pushes nothing, so that a
// wrong clock is corrected before anybody sees its stamps.
func (p *Phone) Request(readMS int64, limits Limits) wire.Request {
	p.gather()
	p.number++
	p.isAwaiting = true
	q := wire.Request{
		Schema: wire.Schema, Device: p.author.Device(), Epoch: p.epoch, Number: p.number,
		WallMS: readMS, Seen: p.seen, PushFrom: p.acked, Chain: p.ackedChain,
	}
	q.IsTaught = !p.isPlain
	// What was sent and not answered may have been judged: then the server needs the chain to go on
	// from. Else a proof that both have the same is enough.
	if q.IsBrief = q.IsTaught && p.isAgreed && p.sent <= p.acked; q.IsBrief {
		q.Proof = wire.ProofOf(q.Device, p.epoch, p.acked, p.ackedChain)
	}
	if p.isHeard && !p.isForked {
		n := min(len(p.pending), limits.Push, wire.MaxPush)
		q.Push = slices.Clone(p.pending[:n])
		for _, op := range q.Push {
			p.sent = max(p.sent, op.Seq)
			if p.withdrawn[op.Seq] {
				q.Withdrawn = append(q.Withdrawn, op.Seq)
			}
		}
	}
	q.Pulls = p.pulls(limits)
	p.asked = q
	return q
}

// Read reads the bytes of the answer to the last request. It returns ErrStale if none is awaited,
// else an error of wire's closed list.
func (p *Phone) Read(b []byte) (wire.Response, error) {
	if !p.isAwaiting {
		return wire.Response{}, ErrStale
	}
	return wire.ParseAnswer(b, p.asked)
}

// pulls lists the documents that are behind, those asked for first. When the news is complete
// it adds those that no news ever named: new ones of its own, or ones that a server that was
// set back no longer shares with this reader.
func (p *Phone) pulls(limits Limits) []wire.Pull {
	most := min(limits.Pulls, wire.MaxPulls)
	listed := map[record.ID]bool{}
	var pulls []wire.Pull
	for _, id := range append(slices.Clone(limits.First), p.sortedCursors()...) {
		c, found := p.cursors[id]
		if found && c.at < c.head && !listed[id] && len(pulls) < most {
			pulls = append(pulls, wire.Pull{Doc: id, After: c.at, IsWhole: c.isWhole})
			listed[id] = true
		}
	}
	if !p.isCurrent {
		return pulls
	}
	for _, id := range p.Docs() {
		if p.cursors[id] == nil && len(pulls) < most {
			pulls = append(pulls, wire.Pull{Doc: id})
		}
	}
	return pulls
}

func (p *Phone) isBehind() bool {
	for _, c := range p.cursors {
		if c.at < c.head {
			return true
		}
	}
	return false
}
