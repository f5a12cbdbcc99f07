package replay

import (
	"strconv"

	"evenhold/internal/boundary"
	"evenhold/pwa/bench/merge/trace"
	"evenhold/sync/record"
)

// Show returns all records of d as JSON, by kind and identifier, with each field's value: what a
// page would be handed to draw everything there is.
func Show(d *record.Doc) []byte {
	b := []byte{'{'}
	for i, in := range []string{trace.Sets, trace.Sessions, trace.Notes, trace.Plan} {
		kind := kinds[in]
		if i > 0 {
			b = append(b, ',')
		}
		b = append(appendText(b, kind), ':', '[')
		for j, r := range d.Records(kind) {
			if j > 0 {
				b = append(b, ',')
			}
			b = appendRecord(b, r)
		}
		b = append(b, ']')
	}
	return append(b, '}')
}

func appendRecord(b []byte, r *record.Record) []byte {
	b = appendText(append(b, `{"id":`...), r.ID().String())
	for field, register := range r.Fields() {
		b = append(appendText(append(b, ','), field), ':')
		v := register.Value()
		if whole, isWhole := v.Int(); isWhole {
			b = strconv.AppendInt(b, whole, 10)
			continue
		}
		text, _ := v.Text()
		b = appendText(b, text)
	}
	return append(b, '}')
}

func appendText(b []byte, text string) []byte {
	for i := range len(text) {
		if c := text[i]; c < ' ' || c == '"' || c == '\\' || c > '~' {
			quoted, err := boundary.Marshal(text)
			if err != nil {
				panic("replay: a text that cannot be quoted: " + err.Error())
			}
			return append(b, quoted...)
		}
	}
	b = append(append(b, '"'), text...)
	return append(b, '"')
}
