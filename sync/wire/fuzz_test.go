package wire_test

import (
	"encoding/binary"
	"hash/crc32"
	"reflect"
	"slices"
	"testing"

	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// Each decoder is given anything at all. It must not panic, must return an error of the closed
// list, and what it does take must come back the same after being written again.

func FuzzOperations_W2(f *testing.F) {
	f.Add(wire.AppendOperations(nil, sample()))
	f.Add(wire.AppendOperations(nil, nil))
	f.Add([]byte{1, 1, 0, 1, 0, 2, 0})
	f.Fuzz(func(t *testing.T, b []byte) {
		ops, err := wire.Operations(b)
		if err != nil {
			if !isListed(err) {
				t.Fatal(err)
			}
			return
		}
		back, err := wire.Operations(wire.AppendOperations(nil, ops))
		if isSound(ops) && (err != nil || !equalOperations(ops, back)) {
			t.Fatalf("%v: %+v came back as %+v", err, ops, back)
		}
	})
}

// isSound reports whether the operations are of the shape that writers write.
func isSound(ops []record.Operation) bool {
	for _, op := range ops {
		if op.Check() != nil {
			return false
		}
	}
	return true
}

func FuzzRequest_W2(f *testing.F) {
	f.Add(sampleRequest().Append(nil))
	f.Add(brief(sampleRequest(), false).Append(nil))
	f.Add(brief(sampleRequest(), true).Append(nil))
	f.Fuzz(func(t *testing.T, b []byte) {
		q, err := wire.ParseRequest(b)
		if err != nil {
			if !isListed(err) {
				t.Fatal(err)
			}
			return
		}
		back, err := wire.ParseRequest(q.Append(nil))
		if isSound(q.Push) && (err != nil || !equalOperations(q.Push, back.Push)) {
			t.Fatalf("%v: %+v came back as %+v", err, q, back)
		}
	})
}

func FuzzResponse_W2(f *testing.F) {
	f.Add(sampleResponse().Append(nil))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := wire.ParseResponse(b)
		if err != nil {
			if !isListed(err) {
				t.Fatal(err)
			}
			return
		}
		back, err := wire.ParseResponse(p.Append(nil))
		for i, page := range p.Pages {
			if isSound(page.Ops) && err == nil && !equalOperations(page.Ops, back.Pages[i].Ops) {
				t.Fatalf("page %d: %+v came back as %+v", i, page, back.Pages[i])
			}
		}
	})
}

func FuzzSnapshot_W2(f *testing.F) {
	d := record.NewDoc(sample()[0].Doc)
	for _, op := range sample() {
		if _, err := d.Apply(op); err != nil {
			f.Fatal(err)
		}
	}
	for _, sealed := range [][]byte{
		wire.AppendSnapshot(nil, d), wire.AppendSnapshot(nil, thinned(f)),
	} {
		f.Add(sealed[:len(sealed)-4])
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		// With a checksum that fits, or nothing would be found but that it does not.
		b = binary.BigEndian.AppendUint32(slices.Clip(b), crc32.ChecksumIEEE(b))
		d, err := wire.Snapshot(b)
		if err != nil {
			return // of the closed list, or one of an operation that does not apply
		}
		back, err := wire.Snapshot(wire.AppendSnapshot(nil, d))
		if err != nil || back.Digest() != d.Digest() {
			t.Fatalf("%v: snapshot changed", err)
		}
	})
}

func FuzzAnswer_W2(f *testing.F) {
	q := brief(sampleRequest(), true)
	f.Add(sampleResponse().AppendAnswer(nil, q))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := wire.ParseAnswer(b, q)
		if err != nil {
			if !isListed(err) {
				t.Fatal(err)
			}
			return
		}
		if p.Number != q.Number || !p.IsBrief {
			return // of another request, or of an earlier version
		}
		back, err := wire.ParseAnswer(p.AppendAnswer(nil, q), q)
		isAllSound := true
		for _, page := range p.Pages {
			isAllSound = isAllSound && isSound(page.Ops)
		}
		if isAllSound && (err != nil || !reflect.DeepEqual(p.Changed, back.Changed) ||
			len(p.Pages) != len(back.Pages)) {
			t.Fatalf("%v: %+v came back as %+v", err, p, back)
		}
	})
}
