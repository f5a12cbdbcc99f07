package record_test

import (
	"cmp"
	"maps"
	"slices"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"

	"pgregory.net/rapid"
)

// drawHistory lets some pens write and merge at random, with clocks that are anywhere, and
// returns what each then holds. Every operation comes from a real author.
func drawHistory(t *rapid.T) []*record.Doc {
	const phones = 3
	var pens []*record.Author
	var docs []*record.Doc
	var records []record.ID
	for i := range phones {
		pens = append(pens, pen(clock.Device(i+1)))
		docs = append(docs, record.NewDoc(docID))
	}
	fields := []string{"a", "b", record.VoidedField}
	for range rapid.IntRange(0, 40).Draw(t, "steps") {
		at := rapid.IntRange(0, phones-1).Draw(t, "phone")
		wallMS := rapid.Int64Range(0, 20).Draw(t, "wall")
		value := record.Int(rapid.Int64Range(0, 2).Draw(t, "value"))
		var err error
		switch rapid.IntRange(0, 5).Draw(t, "action") {
		case 0:
			var id record.ID
			fieldValues := []record.FieldValue{{Field: "a", Value: value}}
			id, _, err = pens[at].Create(docs[at], "set", fieldValues, wallMS)
			records = append(records, id)
		case 1:
			err = docs[at].Merge(docs[rapid.IntRange(0, phones-1).Draw(t, "from")])
		default:
			if len(records) == 0 {
				continue
			}
			rec := rapid.SampledFrom(records).Draw(t, "record")
			field := rapid.SampledFrom(fields).Draw(t, "field")
			_, err = pens[at].Write(docs[at], rec, "set", field, value, wallMS)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return docs
}

func union(t *rapid.T, docs ...*record.Doc) *record.Doc {
	all := record.NewDoc(docID)
	for _, d := range docs {
		if err := all.Merge(d); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

func same(a, b *record.Doc) bool {
	return a.Digest() == b.Digest() &&
		slices.EqualFunc(a.Operations(), b.Operations(), record.Operation.Equal) &&
		maps.EqualFunc(shown(a), shown(b), slices.Equal) &&
		slices.EqualFunc(a.Records("set"), b.Records("set"), func(x, y *record.Record) bool {
			return x.ID() == y.ID() && x.Created() == y.Created()
		})
}

// shown is all that a reader can see of a document: of each record and field the values of the
// heads, the winner first.
func shown(d *record.Doc) map[string][]record.Value {
	all := map[string][]record.Value{}
	for _, r := range d.Records("set") {
		for field := range r.Fields() {
			register := r.Register(field)
			values := []record.Value{register.Value()}
			for _, op := range register.Also() {
				values = append(values, op.Value)
			}
			all[r.ID().String()+field] = values
		}
	}
	return all
}

// TestDoc_M9_Converges checks the three laws under which replicas that took in the same
// operations are equal: "Conflict-Free Replicated Data Types", SSS 2011,
// doi:10.1007/978-3-642-24550-3_29, section on state-based objects.
func TestDoc_M9_Converges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		docs := drawHistory(t)
		a, b, c := docs[0], docs[1], docs[2]
		if !same(union(t, a, b), union(t, b, a)) {
			t.Fatal("not commutative")
		}
		if !same(union(t, a, union(t, b, c)), union(t, union(t, a, b), c)) {
			t.Fatal("not associative")
		}
		if !same(union(t, a, a), a) {
			t.Fatal("not idempotent")
		}
	})
}

// TestDoc_M9_AnyOrder applies one set of operations in two orders.
func TestDoc_M9_AnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := union(t, drawHistory(t)...)
		shuffled := rapid.Permutation(all.Operations()).Draw(t, "order")
		other := record.NewDoc(docID)
		for i, op := range shuffled {
			isNew, err := other.Apply(op)
			if err != nil || !isNew {
				t.Fatalf("operation %d: new %v, %v", i, isNew, err)
			}
		}
		if !same(all, other) {
			t.Fatal("order shows in the result")
		}
	})
}

// slowShown is a second opinion on the merge: no lists kept, no order relied on, straight from
// the words of SPEC.md.
func slowShown(ops []record.Operation) map[string][]record.Value {
	all := map[string][]record.Value{}
	for _, op := range ops {
		var heads []record.Operation
		for _, candidate := range ops {
			isHead := candidate.Record == op.Record && candidate.Field == op.Field
			for _, other := range ops {
				isSameField := other.Record == op.Record && other.Field == op.Field
				if isSameField && slices.Contains(other.Replaces, candidate.Stamp) {
					isHead = false
				}
			}
			if isHead {
				heads = append(heads, candidate)
			}
		}
		slices.SortFunc(heads, func(a, b record.Operation) int {
			return cmp.Or(b.Stamp.Compare(a.Stamp), cmp.Compare(b.Seq, a.Seq))
		})
		var values []record.Value
		for _, head := range heads {
			values = append(values, head.Value)
		}
		all[op.Record.String()+op.Field] = values
	}
	return all
}

func TestDoc_M1_SecondOpinion(t *testing.T) {
	conflicts := 0
	rapid.Check(t, func(t *rapid.T) {
		d := union(t, drawHistory(t)...)
		fast, slow := shown(d), slowShown(d.Operations())
		if !maps.EqualFunc(fast, slow, slices.Equal) {
			t.Fatalf("shown %v, want %v", fast, slow)
		}
		disputed := 0
		for _, values := range slow {
			if len(slices.Compact(slices.Clone(values))) > 1 {
				disputed++
			}
		}
		if got := len(d.Conflicts()); got != disputed {
			t.Fatalf("%d conflicts, want %d", got, disputed)
		}
		conflicts += disputed
	})
	if conflicts < 50 {
		t.Errorf("only %d conflicts in all runs: they prove little", conflicts)
	}
}

func TestDoc_M10_DigestWithoutLoading(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		docs := drawHistory(t)
		before := docs[0].Digest() // from here on kept up to date by Apply
		var sum [32]byte
		for _, op := range docs[0].Operations() {
			sum = record.AddDigest(sum, op)
		}
		if sum != before {
			t.Fatal("digest differs from the sum")
		}
		for _, op := range docs[1].Operations() {
			if isNew, _ := docs[0].Apply(op); isNew {
				sum = record.AddDigest(sum, op)
			}
		}
		if sum != docs[0].Digest() || sum != union(t, docs[0]).Digest() {
			t.Fatal("digest kept up to date differs from the one of a fresh copy")
		}
		if docs[0].Len() > 0 && sum == union(t).Digest() {
			t.Fatal("digest of something is the digest of nothing")
		}
	})
}

func TestDoc_M5_Without(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := union(t, drawHistory(t)...)
		drop := map[record.ID]bool{}
		rest := record.NewDoc(docID)
		for _, op := range d.Operations() {
			if rapid.Bool().Draw(t, "drop") {
				drop[op.ID()] = true
			} else if _, err := rest.Apply(op); err != nil {
				t.Fatal(err)
			}
		}
		if !same(d.Without(drop), rest) {
			t.Fatal("what is left is not what was kept")
		}
	})
}
