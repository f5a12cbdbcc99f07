package record

import (
	"encoding/binary"
	"errors"
	"slices"
	"unicode/utf8"

	"golang.org/x/crypto/blake2s"

	"evenhold/sync/clock"
)

// Bounds of one operation. They are generous for people's notes and mean against garbage; our
// own choice, no source.
const (
	MaxNameBytes = 32      // of a kind or a field
	MaxTextBytes = 4000    // of a text or of an unknown value's bytes
	MaxReplaces  = 16      // heads that one operation may replace
	MaxWallMS    = 1 << 48 // the year 10889: beyond it a reading is an error, not a time
)

// The closed list of what Operation.Check returns.
var (
	ErrDocument = errors.New("operation names no document")
	ErrRecord   = errors.New("operation names no record")
	ErrName     = errors.New("kind or field is not a name")
	ErrText     = errors.New("text is not valid UTF-8")
	ErrTooLong  = errors.New("value is too long")
	ErrStamp    = errors.New("stamp has no device or lies outside the calendar")
	ErrSeq      = errors.New("operation has no number")
	ErrReplaces = errors.New("replaced stamps are not earlier, sorted and distinct")
	ErrTooMany  = errors.New("operation replaces too many heads")
)

// Operation is one write of one field: the only thing that changes a document.
type Operation struct {
	Doc, Record ID
	// Kind says what the record is, Field what of it is written. Both are names: a lower-case
	// letter, then letters, digits, '.', '_' and '-', at most MaxNameBytes.
	Kind, Field string
	Value       Value
	Stamp       clock.Stamp // its Device is the author
	Seq         uint64      // the author's running number over all documents, from 1
	// ReadMS is what the author's own clock said, in milliseconds since 1970, when the stamp
	// was corrected later because that clock was found to be wrong; 0 if it never was.
	ReadMS int64
	// Replaces holds the heads of this field that the author saw and replaces, sorted; empty
	// for a first write. Each is earlier than Stamp.
	Replaces []clock.Stamp
}

// ID returns the operation's own identifier: its author and number.
func (op Operation) ID() ID { return ID{Device: op.Stamp.Device, Seq: op.Seq} }

// Check returns nil if the operation is well formed, or one of the errors listed above.
func (op Operation) Check() error {
	switch {
	case op.Doc.Device == 0 || op.Doc.Seq == 0:
		return ErrDocument
	case op.Record.Device == 0 || op.Record.Seq == 0:
		return ErrRecord
	case op.Seq == 0:
		return ErrSeq
	case !isName(op.Kind) || !isName(op.Field):
		return ErrName
	case len(op.Value.text) > MaxTextBytes:
		return ErrTooLong
	case op.Value.kind == TypeText && !utf8.ValidString(op.Value.text):
		return ErrText
	case !isCalendar(op.Stamp) || op.ReadMS < 0 || op.ReadMS >= MaxWallMS:
		return ErrStamp
	case len(op.Replaces) > MaxReplaces:
		return ErrTooMany
	}
	for i, replaced := range op.Replaces {
		later := i > 0 && replaced.Compare(op.Replaces[i-1]) <= 0
		if later || !isCalendar(replaced) || replaced.Compare(op.Stamp) >= 0 {
			return ErrReplaces
		}
	}
	return nil
}

func isCalendar(s clock.Stamp) bool {
	return s.Device != 0 && s.WallMS >= 0 && s.WallMS < MaxWallMS
}

func isName(name string) bool {
	if len(name) == 0 || len(name) > MaxNameBytes || name[0] < 'a' || name[0] > 'z' {
		return false
	}
	for _, c := range []byte(name) {
		isLetter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
		isOther := c >= '0' && c <= '9' || c == '.' || c == '_' || c == '-'
		if !isLetter && !isOther {
			return false
		}
	}
	return true
}

// Equal reports whether two operations are the same in every part.
func (op Operation) Equal(other Operation) bool {
	return op.Doc == other.Doc && op.Record == other.Record && op.Kind == other.Kind &&
		op.Field == other.Field && op.Value == other.Value && op.Stamp == other.Stamp &&
		op.Seq == other.Seq && op.ReadMS == other.ReadMS &&
		slices.Equal(op.Replaces, other.Replaces)
}

// Hash returns the BLAKE2s-256 of the operation's canonical bytes: every part in the order of
// the struct, numbers as unsigned or zigzag varints, devices as 8 bytes big-endian, texts after
// their length. BLAKE2s is RFC 7693, 2015, doi:10.17487/RFC7693. The bytes are frozen: a change
// would break every hash chain.
func (op Operation) Hash() [32]byte {
	b := make([]byte, 0, 160)
	b = appendID(appendID(b, op.Doc), op.Record)
	b = appendText(appendText(b, op.Kind), op.Field)
	b = append(b, byte(op.Value.kind))
	b = binary.AppendVarint(b, op.Value.whole)
	b = appendText(b, op.Value.text)
	b = appendStamp(b, op.Stamp)
	b = binary.AppendUvarint(b, op.Seq)
	b = binary.AppendVarint(b, op.ReadMS)
	b = binary.AppendUvarint(b, uint64(len(op.Replaces)))
	for _, replaced := range op.Replaces {
		b = appendStamp(b, replaced)
	}
	return blake2s.Sum256(b)
}

func appendID(b []byte, id ID) []byte {
	b = binary.BigEndian.AppendUint64(b, uint64(id.Device))
	return binary.AppendUvarint(b, id.Seq)
}

func appendText(b []byte, text string) []byte {
	b = binary.AppendUvarint(b, uint64(len(text)))
	return append(b, text...)
}

func appendStamp(b []byte, s clock.Stamp) []byte {
	b = binary.AppendVarint(b, s.WallMS)
	b = binary.AppendUvarint(b, uint64(s.Count))
	return binary.BigEndian.AppendUint64(b, uint64(s.Device))
}
