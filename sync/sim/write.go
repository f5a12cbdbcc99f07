package sim

import (
	"evenhold/sync/record"
)

// tokenField holds a number that no other record has, by which a measurement is found again.
const tokenField = "token"

// write lets a phone's person record something: begin a document or a set, correct, void,
// settle a conflict.
func (w *world) write(p *phone) {
	author, wallMS := p.machine.Author(), p.machine.WallMS(p.readMS(w.nowMS))
	docs := p.machine.Docs()
	if len(docs) == 0 || w.chance(4) {
		w.create(p, p.machine.Open(author.NextID()), "client")
		return
	}
	d, _ := p.machine.Doc(pick(&w.random, docs))
	if p.isNewer && w.chance(25) {
		w.counts.Newer++
		w.create(p, d, "lap")
		return
	}
	sets := d.Records("set")
	if len(sets) == 0 || w.chance(35) {
		kind := "set"
		if w.chance(8) {
			kind = lockedFor
		}
		w.create(p, d, kind)
		return
	}
	set := sets[max(0, len(sets)-1-w.below(3))]
	if also := set.Register("rpe").Also(); len(also) > 0 && w.chance(30) {
		op, err := author.Resolve(d, set.ID(), "rpe", also[0].Stamp, wallMS)
		w.made(p, []record.Operation{op}, err)
		return
	}
	field, value := "rpe", record.Int(int64(w.below(11)))
	switch {
	case w.chance(5):
		field, value = record.VoidedField, record.Text("mistake")
		w.counts.Voids++
	case w.chance(10):
		field, value = "later", record.Unknown(77, "unknown here")
	case w.chance(5):
		value = record.Value{}
	}
	op, err := author.Write(d, set.ID(), "set", field, value, wallMS)
	w.made(p, []record.Operation{op}, err)
}

func (w *world) create(p *phone, d *record.Doc, kind string) {
	w.tokens++
	_, ops, err := p.machine.Author().Create(d, kind, []record.FieldValue{
		{Field: tokenField, Value: record.Int(w.tokens)},
		{Field: "rpe", Value: record.Int(int64(w.below(11)))},
	}, p.machine.WallMS(p.readMS(w.nowMS)))
	w.made(p, ops, err)
}

func (w *world) made(p *phone, ops []record.Operation, err error) {
	if err != nil {
		panic(err)
	}
	w.counts.Written += len(ops)
	p.made = append(p.made, ops...)
	if w.chance(80) {
		p.save()
	}
}
