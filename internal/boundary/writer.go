package boundary

import (
	"errors"
	"math"
	"reflect"
	"sort"
	"strconv"
	"unicode/utf8"
)

type writer struct {
	text  []byte
	depth int
	plans plans
}

type marshaler interface{ MarshalJSON() ([]byte, error) }

var marshalerType = reflect.TypeFor[marshaler]()

func (w *writer) value(v reflect.Value) (err error) {
	if w.depth++; w.depth > maxDepth {
		return ErrLimit
	}
	switch kind := v.Kind(); {
	case kind == reflect.Invalid:
		w.text = append(w.text, "null"...)
	case kind == reflect.Pointer || kind == reflect.Interface:
		err = w.value(v.Elem()) // the Elem of nil is invalid
	case v.Type().Implements(marshalerType):
		var text []byte
		if text, err = v.Interface().(marshaler).MarshalJSON(); err == nil {
			err = check(text)
		}
		w.text = append(w.text, text...)
	case kind == reflect.Bool:
		w.text = strconv.AppendBool(w.text, v.Bool())
	case v.CanInt():
		w.text = strconv.AppendInt(w.text, v.Int(), 10)
	case v.CanUint():
		w.text = strconv.AppendUint(w.text, v.Uint(), 10)
	case kind == reflect.Float64:
		err = w.float(v.Float())
	case kind == reflect.String:
		w.quote(v.String())
	case kind == reflect.Struct:
		err = w.object(v)
	case isMap(v):
		err = w.table(v)
	case isList(v):
		err = w.list(v)
	default:
		err = errors.New("cannot write " + v.Type().String())
	}
	w.depth--
	return err
}

func isMap(v reflect.Value) bool {
	return v.Kind() == reflect.Map && v.Type().Key().Kind() == reflect.String
}

// isList leaves []byte out: encoding/json makes base64 of it, and nothing that
// crosses here wants that.
func isList(v reflect.Value) bool {
	return v.Kind() == reflect.Slice && v.Type().Elem().Kind() != reflect.Uint8
}

// float writes f as ECMAScript's Number::toString does, and so encoding/json.
func (w *writer) float(f float64) error {
	abs := math.Abs(f)
	if !(abs <= math.MaxFloat64) {
		return errors.New("cannot write a number that is not finite")
	}
	if abs == 0 || abs >= 1e-6 && abs < 1e21 {
		w.text = strconv.AppendFloat(w.text, f, 'f', -1, 64)
		return nil
	}
	w.text = strconv.AppendFloat(w.text, f, 'e', -1, 64)
	// Go writes two digits of exponent at least, ECMAScript one.
	if n := len(w.text); w.text[n-3] == '-' && w.text[n-2] == '0' {
		w.text = append(w.text[:n-2], w.text[n-1])
	}
	return nil
}

func (w *writer) object(v reflect.Value) error {
	w.text = append(w.text, '{')
	for _, f := range w.plans.of(v.Type()) {
		held := v.FieldByIndex(f.index)
		if f.isLeftOut(held) {
			continue
		}
		if err := w.member(f.name, held); err != nil {
			return err
		}
	}
	return w.end('}')
}

func (w *writer) table(v reflect.Value) error {
	if v.IsNil() {
		return w.value(reflect.Value{})
	}
	keys := v.MapKeys()
	sort.Slice(keys, func(i, j int) bool { return keys[i].String() < keys[j].String() })
	w.text = append(w.text, '{')
	for _, key := range keys {
		if err := w.member(key.String(), v.MapIndex(key)); err != nil {
			return err
		}
	}
	return w.end('}')
}

func (w *writer) list(v reflect.Value) error {
	if v.IsNil() {
		return w.value(reflect.Value{})
	}
	w.text = append(w.text, '[')
	for i := range v.Len() {
		if err := w.value(v.Index(i)); err != nil {
			return err
		}
		w.text = append(w.text, ',')
	}
	return w.end(']')
}

func (w *writer) member(name string, v reflect.Value) error {
	w.quote(name)
	w.text = append(w.text, ':')
	err := w.value(v)
	w.text = append(w.text, ',')
	return err
}

// end puts the closing bracket in the place of the last comma.
func (w *writer) end(bracket byte) error {
	if last := len(w.text) - 1; w.text[last] == ',' {
		w.text = w.text[:last]
	}
	w.text = append(w.text, bracket)
	return nil
}

func (w *writer) quote(s string) {
	w.text = append(w.text, '"')
	done := 0 // what stands before is written
	for i, size := 0, 0; i < len(s); i += size {
		c := rune(s[i])
		if size = 1; c >= utf8.RuneSelf {
			c, size = utf8.DecodeRuneInString(s[i:])
		}
		// U+2028 and U+2029 end a line in old JavaScript: encoding/json escapes them.
		isBad := c == utf8.RuneError && size == 1 || c == '\u2028' || c == '\u2029'
		if c >= ' ' && c != '"' && c != '\\' && !isBad {
			continue
		}
		w.text = append(append(w.text, s[done:i]...), '\\')
		done = i + size
		switch {
		case c == '"' || c == '\\':
			w.text = append(w.text, byte(c))
		case c >= '\b' && c <= '\r' && c != '\v':
			w.text = append(w.text, "btn\vfr"[c-'\b'])
		default:
			w.text = append(w.text, 'u')
			for shift := 12; shift >= 0; shift -= 4 {
				w.text = append(w.text, "0123456789abcdef"[c>>shift&15])
			}
		}
	}
	w.text = append(append(w.text, s[done:]...), '"')
}
