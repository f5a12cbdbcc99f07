package main

import (
	"context"
	"testing"

	"evenhold/sync/record"
)

// TestPhone_Push: every operation that a measured push carries is on the disk afterwards, merged to
// the same document, and a push that does not follow on the last is not taken for a good one.
func TestPhone_Push(t *testing.T) {
	h, err := openHouse(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := h.close(); err != nil {
			t.Error(err)
		}
	}()
	p, err := h.enrol(7)
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range pushedAtOnce {
		if _, err := p.push(3, size); err != nil {
			t.Fatal(err)
		}
	}
	stored, err := h.store.Document(context.Background(), p.pen.doc.ID())
	if err != nil {
		t.Fatal(err)
	}
	const pushed = 3*16 + 3*1
	if stored.Len() != pushed {
		t.Errorf("%d operations are stored, want %d", stored.Len(), pushed)
	}
	all := record.NewDoc(p.pen.doc.ID())
	for _, op := range p.pen.doc.Operations() {
		if op.Seq > pushed {
			continue // written and not yet pushed
		}
		if _, err := all.Apply(op); err != nil {
			t.Fatal(err)
		}
	}
	if stored.Digest() != all.Digest() {
		t.Error("the server holds other operations than were pushed")
	}
	if _, err := p.pen.next(1); err != nil { // skips an operation
		t.Fatal(err)
	}
	if _, err := p.push(1, 1); err == nil {
		t.Error("a push with a gap before it counts as taken")
	}
}
