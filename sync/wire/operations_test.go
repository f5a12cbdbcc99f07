package wire_test

import (
	"errors"
	"slices"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"

	"pgregory.net/rapid"
)

var names = []string{"set", "holdMS", "side", "a", "note.v2", "x_1"}

func drawDevice(t *rapid.T) clock.Device {
	return clock.Device(rapid.Uint64Range(1, 4).Draw(t, "device") * 0x1234567890abcd)
}

func drawID(t *rapid.T) record.ID {
	return record.ID{Device: drawDevice(t), Seq: rapid.Uint64Range(1, 1<<50).Draw(t, "seq")}
}

func drawStamp(t *rapid.T) clock.Stamp {
	return clock.Stamp{
		WallMS: rapid.Int64Range(0, 50).Draw(t, "wall"),
		Count:  uint32(rapid.Uint32Range(0, 3).Draw(t, "count")),
		Device: drawDevice(t),
	}
}

func drawValue(t *rapid.T) record.Value {
	switch rapid.IntRange(0, 4).Draw(t, "type") {
	case 0:
		return record.Value{}
	case 1:
		return record.Int(rapid.Int64().Draw(t, "int"))
	case 2:
		return record.Text(rapid.StringN(0, 5, 20).Draw(t, "text"))
	case 3:
		return record.Bool(rapid.Bool().Draw(t, "bool"))
	default:
		kind := record.Type(rapid.IntRange(4, 255).Draw(t, "kind"))
		return record.Unknown(kind, string(rapid.SliceOfN(rapid.Byte(), 0, 6).Draw(t, "bytes")))
	}
}

// drawOperations draws well-formed operations without any order or sense, so that every
// column also meets what it does not expect.
func drawOperations(t *rapid.T, most int) []record.Operation {
	var ops []record.Operation
	for range rapid.IntRange(0, most).Draw(t, "operations") {
		op := record.Operation{
			Doc: drawID(t), Record: drawID(t), Value: drawValue(t), Stamp: drawStamp(t),
			Kind:  rapid.SampledFrom(names).Draw(t, "kind"),
			Field: rapid.SampledFrom(names).Draw(t, "field"),
			Seq:   rapid.Uint64Range(1, 1<<50).Draw(t, "number"),
		}
		op.Stamp.WallMS += 51 * rapid.Int64Range(1, 1<<40).Draw(t, "later")
		if rapid.Bool().Draw(t, "corrected") {
			op.ReadMS = rapid.Int64Range(1, 1<<47).Draw(t, "read")
		}
		if len(ops) > 0 && rapid.Bool().Draw(t, "alike") {
			before := rapid.SampledFrom(ops).Draw(t, "before")
			op.Doc, op.Record = before.Doc, before.Record
			op.Kind, op.Field = before.Kind, before.Field
			if before.Stamp.Compare(op.Stamp) < 0 {
				op.Replaces = append(op.Replaces, before.Stamp)
			}
		}
		for range rapid.IntRange(0, 2).Draw(t, "replaces") {
			op.Replaces = append(op.Replaces, drawStamp(t))
		}
		slices.SortFunc(op.Replaces, clock.Stamp.Compare)
		op.Replaces = slices.Compact(op.Replaces)
		if len(op.Replaces) == 0 {
			op.Replaces = nil
		}
		ops = append(ops, op)
	}
	return ops
}

func equalOperations(a, b []record.Operation) bool {
	return slices.EqualFunc(a, b, record.Operation.Equal)
}

func TestOperations_W1_RoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ops := drawOperations(t, 12)
		for _, op := range ops {
			if err := op.Check(); err != nil {
				t.Fatalf("%v: %+v", err, op)
			}
		}
		b := wire.AppendOperations([]byte("before"), ops)
		back, err := wire.Operations(b[len("before"):])
		if err != nil || !equalOperations(ops, back) {
			t.Fatalf("%v: %v came back as %v", err, ops, back)
		}
	})
}

// TestOperations_W2_EveryCutAndFlip cuts and damages one frame everywhere: an error of the
// closed list or other operations, never a panic.
func TestOperations_W2_EveryCutAndFlip(t *testing.T) {
	b := wire.AppendOperations(nil, sample())
	for end := range len(b) {
		if _, err := wire.Operations(b[:end]); !isListed(err) {
			t.Fatalf("cut to %d bytes: %v", end, err)
		}
	}
	for at := range b {
		for bit := range 8 {
			damaged := slices.Clone(b)
			damaged[at] ^= 1 << bit
			if _, err := wire.Operations(damaged); err != nil && !isListed(err) {
				t.Fatalf("bit %d of byte %d: %v", bit, at, err)
			}
		}
	}
}

func isListed(err error) bool {
	for _, listed := range []error{wire.ErrVersion, wire.ErrType, wire.ErrMalformed,
		wire.ErrLimit, wire.ErrChecksum} {
		if errors.Is(err, listed) {
			return true
		}
	}
	return false
}

func TestOperations_W3_VersionAndType(t *testing.T) {
	tests := []struct {
		name string
		b    []byte
		want error
	}{
		{"nothing", nil, wire.ErrMalformed},
		{"later version", []byte{4, 1, 0, 0}, wire.ErrVersion},
		{"a request", wire.Request{Device: 1}.Append(nil), wire.ErrType},
		{"bytes left over", append(wire.AppendOperations(nil, nil), 0), wire.ErrMalformed},
		{"more operations than bytes", []byte{1, 1, 0, 100, 0}, wire.ErrMalformed},
		{"more than allowed", []byte{1, 1, 0, 255, 255, 255, 127}, wire.ErrLimit},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := wire.Operations(tt.b); !errors.Is(err, tt.want) {
				t.Errorf("got %v, want %v", err, tt.want)
			}
		})
	}
}

// sample is a short honest history: a set made, corrected, and corrected by another phone.
func sample() []record.Operation {
	const device, other = 0x0123456789abcdef, 0xfedcba9876543210
	doc, set := record.ID{Device: device, Seq: 1}, record.ID{Device: device, Seq: 2}
	first := clock.Stamp{WallMS: 1_700_000_000_000, Device: device}
	second := clock.Stamp{WallMS: 1_700_000_060_000, Device: device}
	third := clock.Stamp{WallMS: 1_700_000_060_000, Count: 1, Device: other}
	return []record.Operation{
		{Doc: doc, Record: doc, Kind: "client", Field: "name", Value: record.Text("Åsa"),
			Stamp: first, Seq: 1},
		{Doc: doc, Record: set, Kind: "set", Field: "holdMS", Value: record.Int(45_000),
			Stamp: second, Seq: 2},
		{Doc: doc, Record: set, Kind: "set", Field: "isPain", Value: record.Bool(true),
			Stamp: clock.Stamp{WallMS: second.WallMS, Count: 1, Device: device}, Seq: 3},
		{Doc: doc, Record: set, Kind: "set", Field: "holdMS", Value: record.Int(46_000),
			Stamp: third, Seq: 9, ReadMS: 1_600_000_000_000, Replaces: []clock.Stamp{second}},
		{Doc: doc, Record: set, Kind: "set", Field: "shape", Value: record.Unknown(9, "\xff"),
			Stamp: clock.Stamp{WallMS: third.WallMS + 5, Device: other}, Seq: 10},
	}
}
