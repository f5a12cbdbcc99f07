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
	return q
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
