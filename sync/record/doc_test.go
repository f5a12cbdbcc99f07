package record_test

import (
	"errors"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// pen returns an author that has written nothing.
func pen(device clock.Device) *record.Author {
	return record.NewAuthor(device, 0, [32]byte{}, clock.New(device, clock.Stamp{}))
}

var docID = record.ID{Device: 1, Seq: 1}

// begun returns a document with one set in it, a copy for a second phone, and the set.
func begun(t *testing.T, a *record.Author) (first, second *record.Doc, set record.ID) {
	t.Helper()
	first, second = record.NewDoc(docID), record.NewDoc(docID)
	set, _, err := a.Create(first, "set", []record.FieldValue{
		{Field: "holdMS", Value: record.Int(45_000)},
		{Field: "side", Value: record.Text("right")},
	}, 1000)
	if err != nil {
		t.Fatal(err)
	}
	merge(t, second, first)
	return first, second, set
}

func merge(t *testing.T, into, from *record.Doc) {
	t.Helper()
	if err := into.Merge(from); err != nil {
		t.Fatal(err)
	}
}

func write(
	t *testing.T, a *record.Author, d *record.Doc, set record.ID, field string, v record.Value,
	wallMS int64,
) record.Operation {
	t.Helper()
	op, err := a.Write(d, set, "set", field, v, wallMS)
	if err != nil {
		t.Fatal(err)
	}
	return op
}

func TestDoc_M1_LaterWriteReplaces(t *testing.T) {
	a, b := pen(1), pen(2)
	here, there, set := begun(t, a)
	// The second phone's clock is far behind, yet it saw what it replaces.
	write(t, b, there, set, "holdMS", record.Int(50_000), 10)
	merge(t, here, there)
	r, _ := here.Record(set)
	if got, _ := r.Int("holdMS"); got != 50_000 {
		t.Errorf("holdMS = %d, want the later 50000", got)
	}
	if also := r.Register("holdMS").Also(); len(also) != 0 || len(here.Conflicts()) != 0 {
		t.Errorf("a succession is shown as a conflict: %v", also)
	}
	if n := len(r.Register("holdMS").History()); n != 2 {
		t.Errorf("history has %d values, want 2", n)
	}
}

func TestDoc_M2_ConcurrentLoserIsKept(t *testing.T) {
	a, b := pen(1), pen(2)
	here, there, set := begun(t, a)
	early := write(t, a, here, set, "holdMS", record.Int(44_000), 2000)
	late := write(t, b, there, set, "holdMS", record.Int(50_000), 3000)
	merge(t, here, there)
	merge(t, there, here)
	for _, d := range []*record.Doc{here, there} {
		r, _ := d.Record(set)
		register := r.Register("holdMS")
		if !register.Winner().Equal(late) {
			t.Errorf("winner %v, want the higher stamp %v", register.Winner(), late)
		}
		if also := register.Also(); len(also) != 1 || !also[0].Equal(early) {
			t.Errorf("also = %v, want %v", also, early)
		}
		if c := d.Conflicts(); len(c) != 1 || c[0].Record.ID() != set || c[0].Field != "holdMS" {
			t.Errorf("conflicts = %v", c)
		}
	}
	if here.Digest() != there.Digest() {
		t.Error("equal sets have different digests")
	}
}

func TestDoc_M2_SameValueIsNoConflict(t *testing.T) {
	a, b := pen(1), pen(2)
	here, there, set := begun(t, a)
	write(t, a, here, set, "holdMS", record.Int(44_000), 2000)
	write(t, b, there, set, "holdMS", record.Int(44_000), 3000)
	merge(t, here, there)
	if c := here.Conflicts(); len(c) != 0 {
		t.Errorf("two equal readings are shown as a conflict: %v", c)
	}
}

func TestAuthor_M3_ResolveReplacesAllHeads(t *testing.T) {
	a, b := pen(1), pen(2)
	here, there, set := begun(t, a)
	early := write(t, a, here, set, "holdMS", record.Int(44_000), 2000)
	write(t, b, there, set, "holdMS", record.Int(50_000), 3000)
	merge(t, here, there)
	if _, err := a.Resolve(here, set, "holdMS", early.Stamp, 4000); err != nil {
		t.Fatal(err)
	}
	r, _ := here.Record(set)
	if got, _ := r.Int("holdMS"); got != 44_000 || len(r.Register("holdMS").Heads()) != 1 {
		t.Errorf("kept %d with heads %v", got, r.Register("holdMS").Heads())
	}
	_, err := a.Resolve(here, set, "holdMS", early.Stamp, 5000)
	if !errors.Is(err, record.ErrNoHead) {
		t.Errorf("a replaced value was kept: %v", err)
	}
}

func TestAuthor_M3_WriteLeavesTheLoser(t *testing.T) {
	a, b := pen(1), pen(2)
	here, there, set := begun(t, a)
	write(t, a, here, set, "holdMS", record.Int(44_000), 2000)
	write(t, b, there, set, "holdMS", record.Int(50_000), 3000)
	merge(t, here, there)
	write(t, a, here, set, "holdMS", record.Int(51_000), 4000)
	r, _ := here.Record(set)
	if also := r.Register("holdMS").Also(); len(also) != 1 {
		t.Errorf("a correction of the value shown hid the other: %v", also)
	}
}

func TestDoc_M4_VoidBesideEditShowsBoth(t *testing.T) {
	a, b := pen(1), pen(2)
	here, there, set := begun(t, a)
	write(t, a, here, set, record.VoidedField, record.Text("wrong person"), 2000)
	write(t, b, there, set, "holdMS", record.Int(50_000), 3000)
	merge(t, here, there)
	r, _ := here.Record(set)
	got, _ := r.Int("holdMS")
	if !r.IsVoided() || got != 50_000 || len(here.Records("set")) != 1 {
		t.Errorf("voided %v, holdMS %d: want both", r.IsVoided(), got)
	}
	write(t, a, here, set, record.VoidedField, record.Text(""), 4000)
	if r.IsVoided() {
		t.Error("an empty reason does not bring the record back")
	}
}

func TestDoc_M5_ForkIsRefused(t *testing.T) {
	a, twin := pen(1), pen(1)
	here, there := record.NewDoc(docID), record.NewDoc(docID)
	write(t, a, here, docID, "holdMS", record.Int(1), 1000)
	write(t, twin, there, docID, "holdMS", record.Int(2), 1000)
	if err := here.Merge(there); !errors.Is(err, record.ErrForked) {
		t.Fatalf("Merge = %v, want ErrForked", err)
	}
	if here.Len() != 1 {
		t.Errorf("%d operations after a refused one, want 1", here.Len())
	}
}

func TestDoc_M6_UnknownIsCarried(t *testing.T) {
	a := pen(1)
	here, there, set := begun(t, a)
	op := write(t, a, here, set, "shape.v9", record.Unknown(200, "\x00\xff"), 2000)
	merge(t, there, here)
	r, _ := there.Record(set)
	got, isUnknown := r.Register("shape.v9").Value().Payload()
	if !isUnknown || got != "\x00\xff" || !r.Register("shape.v9").Winner().Equal(op) {
		t.Errorf("unknown value came through as %q", got)
	}
}

func TestAuthor_M7_ChainNamesEveryOperation(t *testing.T) {
	a := pen(1)
	d, _, _ := begun(t, a)
	var chain [32]byte
	for _, op := range d.Operations() {
		chain = record.NextChain(chain, op)
	}
	if chain != a.Chain() || a.Seq() != 2 || a.NextID() != (record.ID{Device: 1, Seq: 3}) {
		t.Errorf("chain %x after %d operations, author has %x", chain, a.Seq(), a.Chain())
	}
}

func TestAuthor_M7_NothingIsWrittenOnError(t *testing.T) {
	a := pen(1)
	d, _, set := begun(t, a)
	seq, chain, last := a.Seq(), a.Chain(), a.Clock().Last()
	long := record.Text(string(make([]byte, record.MaxTextBytes+1)))
	_, wrongKind := a.Write(d, set, "carry", "holdMS", record.Int(1), 9000)
	_, tooLong := a.Write(d, set, "set", "note", long, 9000)
	_, _, created := a.Create(d, "set", []record.FieldValue{{"a", record.Int(1)}, {"b", long}}, 9000)
	_, _, empty := a.Create(d, "set", nil, 9000)
	for i, pair := range [][2]error{{wrongKind, record.ErrKind}, {tooLong, record.ErrTooLong},
		{created, record.ErrTooLong}, {empty, record.ErrNoField}} {
		if !errors.Is(pair[0], pair[1]) {
			t.Errorf("case %d: %v, want %v", i, pair[0], pair[1])
		}
	}
	if a.Seq() != seq || a.Chain() != chain || a.Clock().Last() != last || d.Len() != 2 {
		t.Error("a refused write left a trace")
	}
}

func TestRecord_M8_OrderOfCreation(t *testing.T) {
	a, b := pen(1), pen(2)
	here, there := record.NewDoc(docID), record.NewDoc(docID)
	late, _, _ := a.Create(here, "set", []record.FieldValue{{"n", record.Int(2)}}, 2000)
	early, _, _ := b.Create(there, "set", []record.FieldValue{{"n", record.Int(1)}}, 1000)
	third := []record.FieldValue{{"n", record.Int(3)}}
	if _, _, err := a.Create(here, "carry", third, 3000); err != nil {
		t.Fatal(err)
	}
	merge(t, here, there)
	sets := here.Records("set")
	if len(sets) != 2 || sets[0].ID() != early || sets[1].ID() != late {
		t.Errorf("sets come as %v, want %v then %v", sets, early, late)
	}
}

// TestDoc_M10_TellsWhatCountsDoNot: two replicas that hold as many operations of each device up
// to the same number can still differ; their digests do.
func TestDoc_M10_TellsWhatCountsDoNot(t *testing.T) {
	a := pen(1)
	d, _, set := begun(t, a)
	write(t, a, d, set, "holdMS", record.Int(41_000), 2000)
	write(t, a, d, set, "holdMS", record.Int(42_000), 3000)
	write(t, a, d, set, "holdMS", record.Int(43_000), 4000)
	all := d.Operations()
	n := len(all)
	without := func(left int) *record.Doc {
		return d.Without(map[record.ID]bool{all[left].ID(): true})
	}
	x, y := without(n-2), without(n-3)
	if x.Len() != y.Len() || !x.Operations()[n-2].Equal(y.Operations()[n-2]) {
		t.Fatalf("%d and %d operations, or another last one", x.Len(), y.Len())
	}
	if x.Digest() == y.Digest() {
		t.Error("their digests are the same")
	}
}
