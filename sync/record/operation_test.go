package record_test

import (
	"encoding/hex"
	"errors"
	"slices"
	"strings"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"

	"golang.org/x/crypto/blake2s"
)

func sound() record.Operation {
	return record.Operation{
		Doc: docID, Record: record.ID{Device: 1, Seq: 2}, Kind: "set", Field: "holdMS",
		Value: record.Int(45_000), Stamp: clock.Stamp{WallMS: 100, Device: 1}, Seq: 3,
		Replaces: []clock.Stamp{{WallMS: 50, Device: 2}, {WallMS: 60, Device: 1}},
	}
}

type spoiling struct {
	name  string
	spoil func(*record.Operation)
	want  error
}

// spoilt lists one way to break each rule of an operation's shape, and the nearest that is sound.
func spoilt() []spoiling {
	many := make([]clock.Stamp, record.MaxReplaces+1)
	for i := range many {
		many[i] = clock.Stamp{WallMS: int64(i), Device: 1}
	}
	return []spoiling{
		{"sound", func(*record.Operation) {}, nil},
		{"no document", func(op *record.Operation) { op.Doc = record.ID{} }, record.ErrDocument},
		{"no record", func(op *record.Operation) { op.Record.Seq = 0 }, record.ErrRecord},
		{"no number", func(op *record.Operation) { op.Seq = 0 }, record.ErrSeq},
		{"no kind", func(op *record.Operation) { op.Kind = "" }, record.ErrName},
		{"long field", func(op *record.Operation) {
			op.Field = strings.Repeat("a", record.MaxNameBytes+1)
		}, record.ErrName},
		{"longest field", func(op *record.Operation) {
			op.Field = strings.Repeat("a", record.MaxNameBytes)
		}, nil},
		{"field of capitals", func(op *record.Operation) { op.Field = "HOLD" }, record.ErrName},
		{"field with a space", func(op *record.Operation) { op.Field = "a b" }, record.ErrName},
		{"not UTF-8", func(op *record.Operation) { op.Value = record.Text("\xff") }, record.ErrText},
		{"unknown bytes", func(op *record.Operation) { op.Value = record.Unknown(9, "\xff") }, nil},
		{"long text", func(op *record.Operation) {
			op.Value = record.Text(strings.Repeat("a", record.MaxTextBytes+1))
		}, record.ErrTooLong},
		{"no device", func(op *record.Operation) { op.Stamp.Device = 0 }, record.ErrStamp},
		{"before the calendar", func(op *record.Operation) { op.Stamp.WallMS = -1 },
			record.ErrStamp},
		{"after the calendar", func(op *record.Operation) { op.Stamp.WallMS = record.MaxWallMS },
			record.ErrStamp},
		{"bad reading", func(op *record.Operation) { op.ReadMS = -1 }, record.ErrStamp},
		{"replaces the future", func(op *record.Operation) { op.Replaces[1].WallMS = 101 },
			record.ErrReplaces},
		{"replaces itself", func(op *record.Operation) { op.Replaces[1] = op.Stamp },
			record.ErrReplaces},
		{"replaces out of order", func(op *record.Operation) { slices.Reverse(op.Replaces) },
			record.ErrReplaces},
		{"replaces twice", func(op *record.Operation) { op.Replaces[1] = op.Replaces[0] },
			record.ErrReplaces},
		{"replaces a crowd", func(op *record.Operation) { op.Replaces = many }, record.ErrTooMany},
	}
}

func TestOperation_M11_Check(t *testing.T) {
	for _, tt := range spoilt() {
		t.Run(tt.name, func(t *testing.T) {
			op := sound()
			tt.spoil(&op)
			if err := op.Check(); !errors.Is(err, tt.want) {
				t.Errorf("Check = %v, want %v", err, tt.want)
			}
			d := record.NewDoc(op.Doc)
			if _, err := d.Apply(op); !errors.Is(err, tt.want) || err != nil && d.Len() != 0 {
				t.Errorf("Apply = %v with %d operations, want %v", err, d.Len(), tt.want)
			}
		})
	}
	if _, err := record.NewDoc(record.ID{Device: 9, Seq: 9}).Apply(sound()); !errors.Is(
		err, record.ErrOtherDocument) {
		t.Errorf("another document's operation: %v", err)
	}
}

// TestOperation_M7_HashFunction checks the hash function itself against the example printed in
// "The BLAKE2 Cryptographic Hash and Message Authentication Code (MAC)", RFC 7693, 2015,
// appendix B, doi:10.17487/RFC7693; digits from memory.
func TestOperation_M7_HashFunction(t *testing.T) {
	sum := blake2s.Sum256([]byte("abc"))
	const want = "508c5e8c327c14e2e1a72ba34eeb452f37458b209ed63a294d999b4c86675982"
	if got := hex.EncodeToString(sum[:]); got != want {
		t.Errorf("hash of abc is %s, want %s", got, want)
	}
}

// TestOperation_M7_HashBytes spells the canonical bytes out by hand from the description at
// Operation.Hash, with the varints of Protocol Buffers' encoding guide (150 is 96 01; zigzag
// of -2 is 3): from memory.
func TestOperation_M7_HashBytes(t *testing.T) {
	op := sound()
	op.Value = record.Int(-2)
	op.ReadMS = 75
	spelt := strings.Join([]string{
		"0000000000000001", "01", // document: device, number
		"0000000000000001", "02", // record
		"03", "736574", // "set"
		"06", "686f6c644d53", // "holdMS"
		"01", "03", "00", // whole number, zigzag of -2, no text
		"c801", "00", "0000000000000001", // wall 100 zigzag is 200, count, device
		"03",   // number
		"9601", // reading 75, zigzag is 150
		"02",   // replaced stamps
		"64", "00", "0000000000000002",
		"78", "00", "0000000000000001",
	}, "")
	raw, err := hex.DecodeString(spelt)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := op.Hash(), blake2s.Sum256(raw); got != want {
		t.Errorf("hash %x, want %x", got, want)
	}
	// Every part is in the hash: a change of any changes it.
	seen := map[[32]byte]string{op.Hash(): "the operation"}
	for name, spoil := range map[string]func(*record.Operation){
		"doc":      func(op *record.Operation) { op.Doc.Seq++ },
		"record":   func(op *record.Operation) { op.Record.Device++ },
		"kind":     func(op *record.Operation) { op.Kind = "carry" },
		"field":    func(op *record.Operation) { op.Field = "loadG" },
		"value":    func(op *record.Operation) { op.Value = record.Int(2) },
		"type":     func(op *record.Operation) { op.Value = record.Bool(true) },
		"stamp":    func(op *record.Operation) { op.Stamp.Count++ },
		"seq":      func(op *record.Operation) { op.Seq++ },
		"reading":  func(op *record.Operation) { op.ReadMS++ },
		"replaces": func(op *record.Operation) { op.Replaces[0].Count++ },
	} {
		changed := sound()
		changed.Value, changed.ReadMS = op.Value, op.ReadMS
		spoil(&changed)
		if other, isSeen := seen[changed.Hash()]; isSeen {
			t.Errorf("%s has the hash of %s", name, other)
		}
		seen[changed.Hash()] = name
	}
}

func TestID_M8_Text(t *testing.T) {
	id := record.ID{Device: 31, Seq: 42}
	if got := id.String(); got != "000000000000z-42" {
		t.Errorf("String = %q", got)
	}
	if back, err := record.ParseID(id.String()); err != nil || back != id {
		t.Errorf("%v came back as %v, %v", id, back, err)
	}
	for _, text := range []string{"", "000000000000z", "000000000000z-", "000000000000z-0",
		"000000000000z-042", "000000000000z-42-1", "0000000000000-1", "000000000000Z-1"} {
		if got, err := record.ParseID(text); !errors.Is(err, record.ErrID) {
			t.Errorf("ParseID(%q) = %v, %v", text, got, err)
		}
	}
}
