package replay

import (
	"maps"
	"strconv"
	"testing"

	"evenhold/pwa/bench/merge/trace"
	"evenhold/sync/record"
)

// plainWrite is what the obvious replay keeps of a field: its latest write.
type plainWrite struct {
	wallMS, count int64
	phone         string
	value         string
}

func (w plainWrite) isAfter(v plainWrite) bool {
	if w.wallMS != v.wallMS {
		return w.wallMS > v.wallMS
	}
	if w.count != v.count {
		return w.count > v.count
	}
	return devices[w.phone] > devices[v.phone]
}

// plainPhone is the obvious replica: a table of fields, of which the later write stands.
type plainPhone struct {
	name          string
	wallMS, count int64
	fields        map[string]plainWrite
}

func (p *plainPhone) write(key, value string, atMS int64) {
	if seen := p.fields[key]; seen.wallMS > p.wallMS ||
		seen.wallMS == p.wallMS && seen.count > p.count {
		p.wallMS, p.count = seen.wallMS, seen.count
	}
	if atMS > p.wallMS {
		p.wallMS, p.count = atMS, 0
	} else {
		p.count++
	}
	p.fields[key] = plainWrite{p.wallMS, p.count, p.name, value}
}

func (p *plainPhone) commit(line trace.Line) {
	for _, op := range line.Ops {
		switch op.Do {
		case trace.Add:
			for _, f := range op.Fields {
				p.write(op.ID+" "+f.Name, plainValue(f.Value), line.AtMS)
			}
			if op.In == trace.Plan { // the place in the list is a field more
				p.write(op.ID+" "+placeField, "", line.AtMS)
				delete(p.fields, op.ID+" "+placeField)
			}
		case trace.Set:
			p.write(op.ID+" "+op.Field, plainValue(*op.Value), line.AtMS)
		case trace.Delete:
			p.write(op.ID+" "+record.VoidedField, "mistake", line.AtMS)
		}
	}
}

func plainValue(v trace.Value) string {
	if v.Text != nil {
		return *v.Text
	}
	return strconv.FormatInt(v.Whole, 10)
}

func (p *plainPhone) merge(other map[string]plainWrite) {
	for key, w := range other {
		if w.isAfter(p.fields[key]) {
			p.fields[key] = w
		}
	}
}

// shown returns a record's fields as the obvious replay keeps them, under the trace's names.
func shown(t *testing.T, h *House, phone string) map[string]string {
	byID := map[record.ID]string{}
	for name, id := range h.names {
		byID[id] = name
	}
	all := map[string]string{}
	d := h.Record(phone)
	for _, kind := range kinds {
		for _, r := range d.Records(kind) {
			for field := range r.Fields() {
				v := r.Register(field).Value()
				text, isText := v.Text()
				if whole, isWhole := v.Int(); isWhole {
					text = strconv.FormatInt(whole, 10)
				} else if !isText {
					t.Fatalf("%s holds neither text nor whole number", field)
				} else if ref, err := record.ParseID(text); err == nil {
					text = byID[ref]
				}
				if field != placeField {
					all[byID[r.ID()]+" "+field] = text
				}
			}
		}
	}
	return all
}

// TestReplay_AgreesWithTheObvious carries a year and the month after it out twice: on the phones
// and the server of the product, and on tables of which the later write stands.
func TestReplay_AgreesWithTheObvious(t *testing.T) {
	lines := trace.Make(1, Seed)
	h, err := NewHouse(lines[0].AtMS)
	if err != nil {
		t.Fatal(err)
	}
	plain := map[string]*plainPhone{}
	for _, name := range []string{trace.PhoneA, trace.PhoneB} {
		plain[name] = &plainPhone{name: name, fields: map[string]plainWrite{}}
	}
	server := &plainPhone{fields: map[string]plainWrite{}}
	meet := func(phone string) {
		server.merge(plain[phone].fields)
		plain[phone].merge(server.fields)
		if _, err := h.Sync(phone); err != nil {
			t.Fatal(err)
		}
	}
	disputed := 0
	for _, line := range lines {
		if line.IsSync {
			meet(line.Phone)
			continue
		}
		plain[line.Phone].commit(line)
		if err := h.Commit(line); err != nil {
			t.Fatal(err)
		}
	}
	for _, phone := range []string{trace.PhoneA, trace.PhoneB, trace.PhoneA} {
		meet(phone)
	}
	for name, p := range plain {
		want := map[string]string{}
		for key, w := range p.fields {
			want[key] = w.value
		}
		got := shown(t, h, name)
		if len(got) != len(want) {
			t.Errorf("phone %s shows %d fields, want %d", name, len(got), len(want))
		}
		if !maps.Equal(got, want) {
			for key := range want {
				if got[key] != want[key] {
					t.Errorf("phone %s, %s: %q, want %q", name, key, got[key], want[key])
				}
			}
		}
		disputed += len(h.Record(name).Conflicts())
	}
	if disputed < 20 || h.Record(trace.PhoneA).Digest() != h.Record(trace.PhoneB).Digest() {
		t.Errorf("%d fields are disputed, want real conflicts and equal phones", disputed)
	}
}
