package sim

import (
	"errors"
	"slices"

	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
)

// phone is one install: the real state machine, a disk that survives a crash, a clock that may
// be wrong.
type phone struct {
	owner   person
	machine *exchange.Phone
	disk    disk
	backup  *disk
	errorMS int64              // how far the clock is off
	cutMS   int64              // until when the phone is cut off from the network
	life    int                // how often it was set back to a backup
	isNewer bool               // of the version after the one that others run
	made    []record.Operation // written but not yet durable
	durable map[int64]bool     // the run's list of measurements that ever became durable
	thinned int                // operations let go of so far
	thins   bool               // lets go of what others replaced, at every start
}

// disk is what a crash leaves.
type disk struct {
	state []byte
	ops   map[record.ID]record.Operation
}

func (d *disk) copy() disk {
	c := disk{state: slices.Clone(d.state), ops: map[record.ID]record.Operation{}}
	for id, op := range d.ops {
		c.ops[id] = op
	}
	return c
}

func (w *world) newPhone(owner person, device clock.Device, errorMS int64) *phone {
	p := &phone{owner: owner, errorMS: errorMS, durable: w.durable, thins: device&2 != 0}
	p.disk.ops = map[record.ID]record.Operation{}
	p.disk.state = exchange.State{Device: device}.Append(nil)
	p.start()
	return p
}

// start makes the machine from the disk.
func (p *phone) start() {
	state, err := exchange.ParseState(p.disk.state)
	if err != nil {
		panic(err)
	}
	byDoc := map[record.ID]*record.Doc{}
	var docs []*record.Doc
	for _, op := range p.disk.ops {
		d := byDoc[op.Doc]
		if d == nil {
			d = record.NewDoc(op.Doc)
			byDoc[op.Doc] = d
			docs = append(docs, d)
		}
		if _, err := d.Apply(op); err != nil {
			panic(err)
		}
	}
	slices.SortFunc(docs, func(a, b *record.Doc) int { return a.ID().Compare(b.ID()) })
	p.machine = exchange.NewPhone(state, docs)
	if p.thins {
		for _, d := range docs {
			p.thinned += p.machine.Compact(d.ID(), record.MaxWallMS)
		}
	}
	p.made = nil
}

// onDisk makes one document from all that the disk holds: what its machine may have let go of
// as well.
func (p *phone) onDisk(doc record.ID) *record.Doc {
	d := record.NewDoc(doc)
	for _, op := range p.disk.ops {
		if op.Doc == doc {
			if _, err := d.Apply(op); err != nil {
				panic(err)
			}
		}
	}
	return d
}

// save makes what was written, and the state, durable.
func (p *phone) save() { p.keep(exchange.Outcome{}) }

// keep makes an outcome durable too, as its caller must.
func (p *phone) keep(out exchange.Outcome) {
	for _, op := range p.made {
		p.disk.ops[op.ID()] = op
		if token, isToken := tokenOf(op); isToken {
			p.durable[token] = true
		}
	}
	p.made = nil
	for _, op := range out.Removed {
		delete(p.disk.ops, op.ID())
	}
	for _, gone := range out.Gone {
		for id, op := range p.disk.ops {
			if op.Doc == gone.Doc {
				delete(p.disk.ops, id)
			}
		}
	}
	for _, op := range out.Applied {
		p.disk.ops[op.ID()] = op
	}
	p.disk.state = p.machine.State().Append(nil)
}

func (p *phone) readMS(nowMS int64) int64 { return max(nowMS+p.errorMS, 1) }

// request returns the bytes of a request, saved before they leave.
func (p *phone) request(nowMS int64) []byte {
	limits := exchange.Limits{Push: 8, Pulls: 3}
	q := p.machine.Request(p.readMS(nowMS), limits)
	p.save()
	if p.isNewer {
		q.Schema++
	}
	return q.Append(nil)
}

// handle takes in the bytes of a response. An answer to an earlier request changes nothing.
func (p *phone) handle(b []byte, nowMS int64) exchange.Outcome {
	resp, err := p.machine.Read(b)
	if errors.Is(err, exchange.ErrStale) {
		return exchange.Outcome{}
	}
	if err != nil {
		panic(err)
	}
	out, err := p.machine.Handle(resp, p.readMS(nowMS))
	if err != nil && !errors.Is(err, exchange.ErrStale) {
		panic(err)
	}
	p.keep(out)
	return out
}
