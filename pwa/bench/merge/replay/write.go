package replay

import (
	"slices"

	"evenhold/pwa/bench/merge/trace"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
)

// kinds are the kinds of the records of each of a trace's sets of records.
var kinds = map[string]string{
	trace.Sets: "bout", trace.Sessions: "training", trace.Notes: "remark", trace.Plan: "task",
}

// placeField holds a plan's order key.
const placeField = "position"

// names holds which record a trace's identifier became: that of the operation that began it.
type names map[string]record.ID

// valueOf returns the value as the product writes it: a reference is an identifier's text.
func (n names) valueOf(field string, v trace.Value) record.Value {
	switch {
	case v.Text == nil:
		return record.Int(v.Whole)
	case field == "training":
		return record.Text(n[*v.Text].String())
	default:
		return record.Text(*v.Text)
	}
}

// write carries out a commit on a phone.
func (n names) write(p *exchange.Phone, doc record.ID, line trace.Line) error {
	d, pen := p.Open(doc), p.Author()
	for _, op := range line.Ops {
		var err error
		switch op.Do {
		case trace.Add:
			err = n.add(d, pen, op, line.AtMS)
		case trace.Set:
			_, err = pen.Write(d, n[op.ID], kinds[op.In], op.Field, n.valueOf(op.Field, *op.Value),
				line.AtMS)
		case trace.Delete:
			_, err = pen.Write(d, n[op.ID], kinds[op.In], record.VoidedField,
				record.Text("mistake"), line.AtMS)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (n names) add(d *record.Doc, pen *record.Author, op trace.Op, atMS int64) error {
	fields := make([]record.FieldValue, 0, len(op.Fields)+1)
	for _, f := range op.Fields {
		fields = append(fields, record.FieldValue{Field: f.Name, Value: n.valueOf(f.Name, f.Value)})
	}
	if op.In == trace.Plan {
		key, err := orderKey(d, op.Index)
		if err != nil {
			return err
		}
		fields = append(fields, record.FieldValue{Field: placeField, Value: record.Text(key)})
	}
	id, _, err := pen.Create(d, kinds[op.In], fields, atMS)
	n[op.ID] = id
	return err
}

// planOf returns the plan's records that are not voided, in their order.
func planOf(d *record.Doc) []*record.Record {
	plan := slices.DeleteFunc(d.Records(kinds[trace.Plan]), (*record.Record).IsVoided)
	slices.SortFunc(plan, func(a, b *record.Record) int {
		keyA, _ := a.Text(placeField)
		keyB, _ := b.Text(placeField)
		switch {
		case keyA < keyB:
			return -1
		case keyA > keyB:
			return 1
		default:
			return a.ID().Compare(b.ID())
		}
	})
	return plan
}

// orderKey returns the key of the place at in the plan.
func orderKey(d *record.Doc, at int64) (string, error) {
	plan := planOf(d)
	place := min(int(at), len(plan))
	before, after := "", ""
	if place > 0 {
		before, _ = plan[place-1].Text(placeField)
	}
	if place < len(plan) {
		after, _ = plan[place].Text(placeField)
	}
	return record.Between(before, after)
}
