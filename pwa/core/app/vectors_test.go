package app_test

import (
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhold/pwa/core/app"
	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// vector reads the frozen bytes that the tests of sync/wire read natively.
func vector(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("../../../sync/wire/testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	b, err := hex.DecodeString(strings.Join(strings.Fields(string(text)), ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// disputed is what three devices wrote of one document, each seeing the others now and then.
func disputed(t *testing.T, id record.ID) *record.Doc {
	t.Helper()
	all := record.NewDoc(id)
	var docs []*record.Doc
	var pens []*record.Author
	for i := range 3 {
		device := clock.Device(0x0a00 + i)
		docs = append(docs, record.NewDoc(id))
		pens = append(pens, record.NewAuthor(device, 0, [32]byte{}, clock.New(device, clock.Stamp{})))
	}
	rec, first, err := pens[0].Create(docs[0], "lap",
		[]record.FieldValue{{Field: "note", Value: record.Text("first")}}, startMS-dayMS)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range docs[1:] {
		if _, err := d.Apply(first[0]); err != nil {
			t.Fatal(err)
		}
	}
	for step := range 120 {
		i := step * step % 3
		v := []record.Value{record.Int(int64(step)), record.Text(fmt.Sprint("رقم ", step)),
			record.Bool(step%2 == 0), record.Unknown(9, "\x00\xff"), {}}[step%5]
		_, err := pens[i].Write(
			docs[i], rec, "lap", []string{"note", "count"}[step%2], v, startMS-dayMS+int64(step%7))
		if err != nil {
			t.Fatal(err)
		}
		if step%11 == 0 {
			if err := docs[i].Merge(docs[(i+1)%3]); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, d := range docs {
		if err := all.Merge(d); err != nil {
			t.Fatal(err)
		}
	}
	if len(all.Conflicts()) == 0 {
		t.Fatal("nobody disagrees: that proves little")
	}
	return all
}

// fileOwner is the phone of a practice's owner with the file as its core.
func fileOwner(t *testing.T) *phone {
	t.Helper()
	h := newHouse(t)
	p := newPhoneOf(t, func() caller { return startFile(t) })
	p.house = h
	code, _, err := h.server.Desk().SetUp(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	p.do("join.code", object{"code": code.String()})
	p.join("practice", "Example Yard", "name", "Robin Example")
	p.exchange()
	return p
}

// TestWebAssemblyVectors: the file that phones get reads the frozen bytes of every type of frame
// as they are read natively, merges the same, and writes the same bytes.
func TestWebAssemblyVectors(t *testing.T) {
	p := fileOwner(t)
	want, err := wire.Snapshot(vector(t, "snapshot.v1.hex"))
	if err != nil {
		t.Fatal(err)
	}
	ops, err := wire.Operations(vector(t, "operations.v1.hex"))
	if err != nil {
		t.Fatal(err)
	}
	name := want.ID().String()
	p.rows[rowKey{"snap", name}] = vector(t, "snapshot.v1.hex")
	// So many repeats that the next operation folds the log into a snapshot.
	for i := range app.SnapshotAfter/len(ops) + 1 {
		p.rows[rowKey{"log", fmt.Sprintf("%s/%012d", name, 1000+i)}] = vector(t, "operations.v1.hex")
	}
	thin, err := wire.Snapshot(vector(t, "compacted.v1.hex"))
	if err != nil {
		t.Fatal(err)
	}
	p.rows[rowKey{"snap", thin.ID().String()}] = vector(t, "compacted.v1.hex")
	for i := range app.SnapshotAfter/thin.Len() + 1 {
		p.rows[rowKey{"log", fmt.Sprintf("%s/%012d", thin.ID(), 1000+i)}] =
			wire.AppendOperations(nil, thin.Operations())
	}
	p.reload()
	for _, d := range []*record.Doc{want, thin} {
		digest := d.Digest()
		if got := p.digests()[d.ID().String()]; got != hex.EncodeToString(digest[:]) {
			t.Fatalf("of the frozen %s the digest is %s, natively %x", d.ID(), got, digest)
		}
	}
	p.send("sync.request", object{})
	p.send("sync.response", object{}, vector(t, "response.v1.hex")) // to another request
	if p.error != nil {
		t.Errorf("the frozen response was not read: %v", p.error)
	}

	asking := p.send("sync.request", object{})
	q, err := wire.ParseRequest(asking.blobs[*asking.Request])
	if err != nil {
		t.Fatal(err)
	}
	if again := q.Append(nil); string(again) != string(asking.blobs[*asking.Request]) {
		t.Error("the request is written otherwise natively")
	}
	told := p.send("sync.response", object{}, wire.Response{
		Schema: wire.Schema, Epoch: q.Epoch, Number: q.Number, WallMS: p.wallMS, Seen: q.Seen,
		Have: q.PushFrom, HaveChain: q.Chain,
		Pages: []wire.Page{dispute(t, want), dispute(t, thin)},
	}.Append(nil))
	for _, d := range []*record.Doc{want, thin} {
		b, isWritten := told.snapshot(d.ID())
		if !isWritten || string(b) != string(wire.AppendSnapshot(nil, d)) {
			t.Errorf("the merged %s is written otherwise natively (%v, %v)", d.ID(), isWritten, p.error)
		}
	}
}

// dispute adds what three devices wrote to a document, and returns it as a page.
func dispute(t *testing.T, d *record.Doc) wire.Page {
	t.Helper()
	more := disputed(t, d.ID())
	if err := d.Merge(more); err != nil {
		t.Fatal(err)
	}
	n := uint64(more.Len())
	return wire.Page{Doc: d.ID(), To: n, Head: n, Ops: more.Operations()}
}

// snapshot returns the bytes of a document that are to be stored.
func (a answer) snapshot(doc record.ID) (b []byte, isWritten bool) {
	for _, row := range a.Writes {
		if row.Store == "snap" && row.Key == doc.String() && row.Blob != nil {
			return a.blobs[*row.Blob], true
		}
	}
	return nil, false
}
