package record

// Type says what a Value holds. A type that this version does not know is kept as its bytes.
type Type byte

// The types of values of format version 1.
const (
	TypeNone Type = iota // no value: the field is cleared
	TypeInt              // a signed whole number of 64 bits
	TypeText             // UTF-8 text
	TypeBool             // true or false
)

// Value is what a field holds: a whole number, a text, a truth value, nothing, or the bytes of
// a type that this version does not know. Values can be compared with ==. The zero Value holds
// nothing; writing it clears a field.
type Value struct {
	kind  Type
	whole int64
	text  string
}

// Int returns a Value that holds v.
func Int(v int64) Value { return Value{kind: TypeInt, whole: v} }

// Text returns a Value that holds v. Operation.Check bounds its length.
func Text(v string) Value { return Value{kind: TypeText, text: v} }

// Bool returns a Value that holds v.
func Bool(v bool) Value {
	if v {
		return Value{kind: TypeBool, whole: 1}
	}
	return Value{kind: TypeBool}
}

// Unknown returns a Value of a type that this version does not know, with its bytes as they
// came. It panics if kind is one of the known types: only a decoder of newer bytes needs it.
func Unknown(kind Type, payload string) Value {
	if kind <= TypeBool {
		panic("record: Unknown called for a known type")
	}
	return Value{kind: kind, text: payload}
}

// Type returns what v holds.
func (v Value) Type() Type { return v.kind }

// Int returns the whole number, and false if v holds something else.
func (v Value) Int() (int64, bool) {
	if v.kind != TypeInt {
		return 0, false
	}
	return v.whole, true
}

// Text returns the text, and false if v holds something else.
func (v Value) Text() (string, bool) {
	if v.kind != TypeText {
		return "", false
	}
	return v.text, true
}

// Bool returns the truth value, and false second if v holds something else.
func (v Value) Bool() (value, ok bool) {
	if v.kind != TypeBool {
		return false, false
	}
	return v.whole == 1, true
}

// Payload returns the bytes of a value of an unknown type, and false for a known type.
func (v Value) Payload() (string, bool) { return v.text, v.kind > TypeBool }

// IsZero reports whether v holds nothing.
func (v Value) IsZero() bool { return v == Value{} }
