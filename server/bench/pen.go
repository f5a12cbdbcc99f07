package main

import (
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// pen is a phone that logs carries without a pause: it writes the pushes that the real phone
// would, so that making them costs nothing while they are timed.
type pen struct {
	author *record.Author
	doc    *record.Doc
	epoch  uint64
	wallMS int64
	queue  []record.Operation
	seq    uint64   // of the last operation handed out
	chain  [32]byte // after it
	number uint64   // of the last request handed out
}

func newPen(device clock.Device, epoch uint64, wallMS int64) (*pen, error) {
	p := &pen{epoch: epoch, wallMS: wallMS}
	p.author = record.NewAuthor(device, 0, p.chain, clock.New(device, clock.Stamp{}))
	p.doc = record.NewDoc(p.author.NextID())
	client := sessions.Client{Name: "Bench C.", StatureMM: 1700, MassG: 70_000}
	return p, p.write(sessions.KindClient, client.Values())
}

func (p *pen) write(kind string, values []record.FieldValue) error {
	_, ops, err := p.author.Create(p.doc, kind, values, p.wallMS)
	p.queue = append(p.queue, ops...)
	return err
}

// next returns the next n operations of a long session.
func (p *pen) next(n int) ([]record.Operation, error) {
	hand := sides.HandRight
	for len(p.queue) < n {
		p.wallMS += 45_000
		set := sessions.Set{
			Session: p.doc.ID().String(), Step: "suitcase_carry", Hand: hand, Working: hand.Works(),
			Number: 1, Reps: 1, LoadG: 16_000, DistanceMM: 20_000, TimeMS: 24_000,
			StartedMS: p.wallMS, Clock: sessions.ClockMono,
		}
		if err := p.write(sessions.KindSet, set.Values()); err != nil {
			return nil, err
		}
	}
	ops := p.queue[:n:n]
	p.queue = p.queue[n:]
	return ops, nil
}

// push returns the next push of n operations.
func (p *pen) push(n int) (wire.Request, error) {
	ops, err := p.next(n)
	if err != nil {
		return wire.Request{}, err
	}
	p.number++
	q := wire.Request{
		Schema: wire.Schema, Device: p.author.Device(), Epoch: p.epoch, Number: p.number,
		WallMS: p.wallMS, PushFrom: p.seq, Chain: p.chain, Push: ops,
	}
	for _, op := range ops {
		p.seq, p.chain = op.Seq, record.NextChain(p.chain, op)
	}
	return q, nil
}
