package sessions_test

import (
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// pen is one phone that writes into a document. Everything it does is at the
// time that its caller last set.
type pen struct {
	t      *testing.T
	author *record.Author
	wallMS int64
}

func newPen(t *testing.T, device clock.Device) *pen {
	t.Helper()
	return &pen{
		t:      t,
		author: record.NewAuthor(device, 0, [32]byte{}, clock.New(device, clock.Stamp{})),
		wallMS: 1_000_000,
	}
}

// doc opens the document that the pen's next operation begins.
func (p *pen) doc() *record.Doc { return record.NewDoc(p.author.NextID()) }

func (p *pen) create(d *record.Doc, kind string, values []record.FieldValue) record.ID {
	p.t.Helper()
	id, _, err := p.author.Create(d, kind, values, p.wallMS)
	if err != nil {
		p.t.Fatalf("create %s: %v", kind, err)
	}
	return id
}

func (p *pen) write(
	d *record.Doc, id record.ID, kind, field string, v record.Value,
) record.Operation {
	p.t.Helper()
	op, err := p.author.Write(d, id, kind, field, v, p.wallMS)
	if err != nil {
		p.t.Fatalf("write %s of %s: %v", field, kind, err)
	}
	return op
}

func (p *pen) void(d *record.Doc, id record.ID, kind string) {
	p.t.Helper()
	p.write(d, id, kind, record.VoidedField, record.Text("slip"))
}

// clone is the same document on another phone.
func clone(t *testing.T, d *record.Doc) *record.Doc {
	t.Helper()
	other := record.NewDoc(d.ID())
	merge(t, other, d)
	return other
}

func merge(t *testing.T, into, from *record.Doc) {
	t.Helper()
	if err := into.Merge(from); err != nil {
		t.Fatal(err)
	}
}

// reading is a look at the clocks of a page that has run without a gap.
func reading(ms int64) sessions.Reading {
	return sessions.Reading{WallMS: 1_000_000 + ms, MonoMS: ms, Run: "a"}
}
