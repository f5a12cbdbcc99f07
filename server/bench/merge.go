package main

import (
	"encoding/json"
	"errors"
	"fmt"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// plainOperation holds the values of an operation with nothing to merge by, for the peer.
type plainOperation struct {
	Doc      string   `json:"doc"`
	Record   string   `json:"record"`
	Kind     string   `json:"kind"`
	Field    string   `json:"field"`
	Int      *int64   `json:"int,omitempty"`
	Text     *string  `json:"text,omitempty"`
	Bool     *bool    `json:"bool,omitempty"`
	Stamp    string   `json:"stamp"`
	Seq      uint64   `json:"seq"`
	Replaces []string `json:"replaces,omitempty"`
}

func plainOperations(d *record.Doc) []plainOperation {
	var all []plainOperation
	for _, op := range d.Operations() {
		p := plainOperation{Doc: op.Doc.String(), Record: op.Record.String(), Kind: op.Kind,
			Field: op.Field, Stamp: op.Stamp.String(), Seq: op.Seq}
		if n, ok := op.Value.Int(); ok {
			p.Int = &n
		}
		if s, ok := op.Value.Text(); ok {
			p.Text = &s
		}
		if is, ok := op.Value.Bool(); ok {
			p.Bool = &is
		}
		for _, r := range op.Replaces {
			p.Replaces = append(p.Replaces, r.String())
		}
		all = append(all, p)
	}
	return all
}

// merges measures what a phone does with a client record, for each operation, beside encoding/json
// decoding the same values; and what is worked out from the record, beside opening it.
func merges(b *bench) ([]row, error) {
	e, err := b.example()
	if err != nil {
		return nil, err
	}
	d := e.longest()
	decode, err := decoder(d)
	if err != nil {
		return nil, err
	}
	merge, err := merger(d)
	if err != nil {
		return nil, err
	}
	open := opener(d)
	var rows []row
	for _, subject := range []struct {
		name, note string
		sample     sampler
	}{
		{"merge, record opened", "from its snapshot, with all history", open},
		{"merge, operations applied", "one by one, to an empty record", applier(d)},
		{"merge, two phones merged", "each has every second operation", merge},
	} {
		got, err := beside(subject.sample, decode)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", subject.name, err)
		}
		rows = append(rows, figure(subject.name, got.subject, "ns/operation", subject.note),
			figure(subject.name+", of decoding", got.ratio, "ratio",
				fmt.Sprintf("%d operations, beside encoding/json decoding the same values: %.0f ns for one",
					d.Len(), got.peer)))
	}
	worked, err := workedOut(d, open)
	return append(rows, worked...), err
}

var errOther = errors.New("other operations came out than went in")

func decoder(d *record.Doc) (sampler, error) {
	text, err := json.Marshal(plainOperations(d))
	return repeat(d.Len(), func() error {
		var all []plainOperation
		if err := json.Unmarshal(text, &all); err != nil {
			return err
		}
		if len(all) != d.Len() {
			return errOther
		}
		return nil
	}), err
}

func opener(d *record.Doc) sampler {
	stored := wire.AppendSnapshot(nil, d)
	return repeat(d.Len(), func() error {
		opened, err := wire.Snapshot(stored)
		if err == nil && opened.Len() != d.Len() {
			err = errOther
		}
		return err
	})
}

func applier(d *record.Doc) sampler {
	ops := d.Operations()
	return repeat(d.Len(), func() error {
		_, err := docOf(d.ID(), ops)
		return err
	})
}

// merger samples the merge of two phones that have every second operation each. One unit is an
// operation that was new to the phone it came to.
func merger(d *record.Doc) (sampler, error) {
	var mine, theirs []record.Operation
	for i, op := range d.Operations() {
		if i%2 == 0 {
			mine = append(mine, op)
		} else {
			theirs = append(theirs, op)
		}
	}
	other, err := docOf(d.ID(), theirs)
	if err != nil {
		return nil, err
	}
	whole, err := docOf(d.ID(), mine)
	if err != nil {
		return nil, err
	}
	if err := whole.Merge(other); err != nil {
		return nil, err
	}
	if whole.Digest() != d.Digest() {
		return nil, errOther
	}
	return repeatFresh(len(theirs), func() (func() error, error) {
		own, err := docOf(d.ID(), mine)
		return func() error { return own.Merge(other) }, err
	}), nil
}

func docOf(id record.ID, ops []record.Operation) (*record.Doc, error) {
	d := record.NewDoc(id)
	for _, op := range ops {
		if _, err := d.Apply(op); err != nil {
			return nil, err
		}
	}
	return d, nil
}
