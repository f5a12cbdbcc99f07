package boundary

import (
	"errors"
	"reflect"
	"strconv"
)

// reader reads one value after another. What is read into an invalid
// reflect.Value is checked and passed over.
type reader struct {
	text  []byte
	at    int
	depth int
	plans plans
}

var rawType = reflect.TypeFor[RawMessage]()

func (r *reader) value(v reflect.Value) error {
	r.space()
	start, first := r.at, r.peek()
	for first != 'n' && v.Kind() == reflect.Pointer {
		if v.IsNil() {
			v.Set(reflect.New(v.Type().Elem()))
		}
		v = v.Elem()
	}
	if v.IsValid() && v.Type() == rawType {
		err := r.value(reflect.Value{})
		v.SetBytes(append([]byte(nil), r.text[start:r.at]...))
		return err
	}
	if first != 'n' && v.Kind() == reflect.Interface && v.NumMethod() == 0 {
		held := reflect.New(plainType(first)).Elem()
		err := r.value(held)
		v.Set(held)
		return err
	}
	switch first {
	case '{':
		return r.object(v)
	case '[':
		return r.list(v)
	case '"':
		return r.string(v)
	case 't':
		return r.word("true", v)
	case 'f':
		return r.word("false", v)
	case 'n':
		return r.word("null", v)
	}
	return r.number(v)
}

// plainType is what an any holds after a value that begins with first.
func plainType(first byte) reflect.Type {
	switch first {
	case '{':
		return reflect.TypeFor[map[string]any]()
	case '[':
		return reflect.TypeFor[[]any]()
	case '"':
		return reflect.TypeFor[string]()
	case 't', 'f':
		return reflect.TypeFor[bool]()
	}
	return reflect.TypeFor[float64]()
}

func (r *reader) object(v reflect.Value) error {
	switch {
	case !v.IsValid() || v.Kind() == reflect.Struct:
	case !isMap(v):
		return r.misfit(v)
	case v.IsNil():
		v.Set(reflect.MakeMap(v.Type()))
	}
	return r.items('}', func() error {
		name, err := r.name()
		switch {
		case err != nil:
			return err
		case !v.IsValid():
			return r.value(v)
		case v.Kind() == reflect.Struct:
			return r.value(r.plans.place(v, unquote(name)))
		}
		key, held := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
		key.SetString(unquote(name))
		err = r.value(held)
		v.SetMapIndex(key, held)
		return err
	})
}

func (r *reader) list(v reflect.Value) error {
	if !v.IsValid() {
		return r.items(']', func() error { return r.value(v) })
	}
	if !isList(v) {
		return r.misfit(v)
	}
	n := 0
	err := r.items(']', func() error {
		if n >= v.Cap() {
			v.Grow(1)
		}
		n++
		v.SetLen(max(n, v.Len()))
		return r.value(v.Index(n - 1))
	})
	if v.SetLen(n); n == 0 {
		v.Set(reflect.MakeSlice(v.Type(), 0, 0))
	}
	return err
}

func (r *reader) string(v reflect.Value) error {
	quoted, err := r.quoted()
	switch {
	case err != nil || !v.IsValid():
		return err
	case v.Kind() != reflect.String:
		return r.misfit(v)
	}
	v.SetString(unquote(quoted))
	return nil
}

func (r *reader) word(word string, v reflect.Value) error {
	for i := range len(word) {
		if !r.take(word[i]) {
			return r.fail("no value here")
		}
	}
	switch kind := v.Kind(); {
	case kind == reflect.Invalid:
	case word == "null":
		switch kind {
		case reflect.Interface, reflect.Pointer, reflect.Map, reflect.Slice:
			v.SetZero()
		}
	case kind != reflect.Bool:
		return r.misfit(v)
	default:
		v.SetBool(word == "true")
	}
	return nil
}

func (r *reader) number(v reflect.Value) error {
	digits, err := r.digits()
	if err != nil || !v.IsValid() {
		return err
	}
	switch {
	case v.CanInt():
		var n int64
		if n, err = strconv.ParseInt(string(digits), 10, v.Type().Bits()); err == nil {
			v.SetInt(n)
			return nil
		}
	case v.CanUint():
		var n uint64
		if n, err = strconv.ParseUint(string(digits), 10, v.Type().Bits()); err == nil {
			v.SetUint(n)
			return nil
		}
	case v.Kind() == reflect.Float64:
		var f float64
		if f, err = strconv.ParseFloat(string(digits), 64); err == nil {
			v.SetFloat(f)
			return nil
		}
	}
	return r.misfit(v)
}

func (r *reader) misfit(v reflect.Value) error {
	return r.placed("a value does not fit " + v.Type().String())
}

func (r *reader) fail(what string) error {
	if r.at >= len(r.text) {
		what = "unexpected end"
	}
	return r.placed(what)
}

func (r *reader) placed(what string) error {
	return errors.New("byte " + strconv.Itoa(r.at) + ": " + what)
}
