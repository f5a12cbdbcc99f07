package boundary

import (
	"reflect"
	"strings"
)

// field is a struct's field as it stands in JSON.
type field struct {
	name                string
	index               []int
	omitEmpty, omitZero bool
}

// plans are the fields by type. They live for one call: kept for longer they
// would need a lock.
type plans map[reflect.Type][]field

func (p plans) of(t reflect.Type) []field {
	list, found := p[t]
	if !found {
		list = appendFields(nil, t, nil)
		p[t] = list
	}
	return list
}

func appendFields(list []field, t reflect.Type, outer []int) []field {
	for i := range t.NumField() {
		f := t.Field(i)
		tag := f.Tag.Get("json")
		name, options, _ := strings.Cut(tag, ",")
		index := append(append([]int(nil), outer...), i)
		switch {
		case tag == "-":
			continue
		case f.Anonymous && name == "" && f.Type.Kind() == reflect.Struct:
			list = appendFields(list, f.Type, index)
			continue
		case !f.IsExported():
			continue
		case name == "":
			name = f.Name
		}
		list = append(list, field{
			name: name, index: index,
			omitEmpty: options == "omitempty", omitZero: options == "omitzero",
		})
	}
	return list
}

// place returns the field of v that name stands for; an invalid Value for none.
func (p plans) place(v reflect.Value, name string) reflect.Value {
	folded := reflect.Value{}
	for _, f := range p.of(v.Type()) {
		if f.name == name {
			return v.FieldByIndex(f.index)
		}
		if !folded.IsValid() && strings.EqualFold(f.name, name) {
			folded = v.FieldByIndex(f.index)
		}
	}
	return folded
}

func (f field) isLeftOut(v reflect.Value) bool {
	switch kind := v.Kind(); {
	case f.omitZero:
		return v.IsZero()
	case !f.omitEmpty || kind == reflect.Struct:
		return false
	case kind == reflect.Slice || kind == reflect.Map:
		return v.Len() == 0
	}
	return v.IsZero()
}
