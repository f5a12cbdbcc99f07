package demo

import (
	"fmt"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// phone is one person's phone and all that it recorded.
type phone struct {
	who  sessions.Author
	pen  *record.Author
	made []record.Operation
}

func newPhone(device clock.Device, who sessions.Author) *phone {
	return &phone{
		who: who,
		pen: record.NewAuthor(device, 0, [32]byte{}, clock.New(device, clock.Stamp{})),
	}
}

// create writes a record at atMS, and before it, once in each document, whose phone this is. A
// new document opens with its client, so there the name comes after it.
func (p *phone) create(d *record.Doc, kind string, values []record.FieldValue, atMS int64) (
	record.ID, error) {
	if kind != sessions.KindClient && kind != sessions.KindAuthor {
		if err := p.introduce(d, atMS); err != nil {
			return record.ID{}, err
		}
	}
	id, ops, err := p.pen.Create(d, kind, values, atMS)
	if err != nil {
		return record.ID{}, fmt.Errorf("%s of %s: %w", kind, p.who.Name, err)
	}
	p.made = append(p.made, ops...)
	return id, nil
}

func (p *phone) introduce(d *record.Doc, atMS int64) error {
	if _, known := sessions.AuthorOf(d, p.pen.Device()); known {
		return nil
	}
	_, err := p.create(d, sessions.KindAuthor, p.who.Values(), atMS)
	return err
}

// write changes one field of a record at atMS.
func (p *phone) write(d *record.Doc, id record.ID, kind, field string, v record.Value,
	atMS int64) error {
	if err := p.introduce(d, atMS); err != nil {
		return err
	}
	op, err := p.pen.Write(d, id, kind, field, v, atMS)
	if err != nil {
		return fmt.Errorf("%s of a %s by %s: %w", field, kind, p.who.Name, err)
	}
	p.made = append(p.made, op)
	return nil
}
