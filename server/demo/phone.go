package demo

import (
	"fmt"
	"slices"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// phone is one person's phone and what it recorded and has not sent.
type phone struct {
	who  sessions.Author
	pen  *record.Author
	made []record.Operation
	sent [32]byte // chain value after what it has sent
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

// send pushes what the phone of m has not sent, and has it judged. Anything refused is an error.
func (p *phone) send(s *store.Store, m store.Member, nowMS int64) error {
	for batch := range slices.Chunk(p.made, wire.MaxPush) {
		pushed, err := s.Push(wire.Request{
			Schema: wire.Schema, Device: m.Device, WallMS: nowMS,
			PushFrom: batch[0].Seq - 1, Chain: p.sent, Push: batch,
		}, m, access.Rules(m.Person), nowMS)
		if err != nil {
			return fmt.Errorf("push for %s: %w", m.Person.Name, err)
		}
		if pushed.Problem != "" {
			return fmt.Errorf("push for %s: %s", m.Person.Name, pushed.Problem)
		}
		if len(pushed.Refused) > 0 {
			first := pushed.Refused[0]
			return fmt.Errorf("push for %s: %s of a %s refused: %s", m.Person.Name,
				first.Op.Field, first.Op.Kind, first.Code)
		}
		p.sent = pushed.State.Chain
	}
	p.made = nil
	return nil
}
