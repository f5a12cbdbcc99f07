// Package boundary reads and writes the JSON (RFC 8259) that crosses between the
// phone's core and its page, and the rows that the page stores for the core.
//
// It exists for its size: phones download the core, and encoding/json with the
// fmt, os and io/fs that it needs was a tenth of the file.
//
// It holds plain values only: bool, whole numbers, float64, string, structs,
// slices, maps with string keys, pointers, any, RawMessage, and types with a
// MarshalJSON of their own on the value. For these it writes the bytes and reads
// the values that encoding/json does, by the same json tags (a name, "-",
// omitempty, omitzero), except that <, > and & stay as they are, since no page
// puts this text into markup, and that what a MarshalJSON returns is checked but
// keeps its spaces. All else is refused by an error, []byte too. Not looked at:
// MarshalText, UnmarshalJSON, IsZero, and MarshalJSON on a pointer. An embedded
// struct lends its fields; their names must all differ, which go vet checks.
//
// Everything here is pure and safe for concurrent use.
package boundary

import (
	"errors"
	"reflect"
)

const (
	// maxBytes bounds what is read: far more than a phone's stored rows.
	maxBytes = 8 << 20
	// maxDepth bounds nesting both ways, so that hostile text cannot fill a
	// phone's memory with stack; the deepest screen has about a dozen levels.
	maxDepth = 256
)

// ErrLimit is returned for text over 8 MiB, and for text or values nested more
// than 256 deep, as a value that holds itself is.
var ErrLimit = errors.New("too long or nested too deep")

// RawMessage is one value kept as its JSON text.
type RawMessage []byte

// MarshalJSON returns m, and null for nil.
func (m RawMessage) MarshalJSON() ([]byte, error) {
	if m == nil {
		return []byte("null"), nil
	}
	return m, nil
}

// Marshal returns v as JSON. The error is ErrLimit, or says which type or number
// cannot be written: NaN and the infinities cannot.
func Marshal(v any) ([]byte, error) {
	w := writer{plans: plans{}}
	if err := w.value(reflect.ValueOf(v)); err != nil {
		return nil, err
	}
	return w.text, nil
}

// Unmarshal reads one JSON value into what the pointer into points at. As in
// encoding/json, null leaves all but pointers, maps, slices and any as they are,
// unknown names are passed over, and a name matches in any case where none
// matches exactly. A value already in an any is replaced.
//
// The error is ErrLimit, or gives the place in the text. Nothing is changed when
// the text is not JSON; a part may be when a value does not fit its place.
func Unmarshal(text []byte, into any) error {
	target := reflect.ValueOf(into)
	if target.Kind() != reflect.Pointer || target.IsNil() {
		return errors.New("nothing to read into")
	}
	if err := check(text); err != nil {
		return err
	}
	r := reader{text: text, plans: plans{}}
	return r.value(target.Elem())
}

// check returns an error unless text is one JSON value.
func check(text []byte) error {
	if len(text) > maxBytes {
		return ErrLimit
	}
	r := reader{text: text}
	err := r.value(reflect.Value{})
	if r.space(); err == nil && r.at < len(text) {
		err = r.fail("more after the value")
	}
	return err
}
