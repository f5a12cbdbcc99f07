package app_test

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"testing"

	"evenhold/pwa/core/app"
)

// recorder keeps every frame that a core is given.
type recorder struct {
	core   *app.App
	frames [][]byte
}

func (r *recorder) Call(frame []byte) []byte {
	r.frames = append(r.frames, bytes.Clone(frame))
	return r.core.Call(frame)
}

// begun is a phone in the middle of its work: its one client, the frame that opened it, and
// those that followed.
func begun(t testing.TB) (doc string, opening []byte, frames [][]byte) {
	t.Helper()
	p := newHouse(t).owner()
	doc = p.planned("Ola B.")
	p.visit("/p/" + doc)
	p.beginWork()
	p.act("work.start")
	p.prepare(doc, "left")
	seen := &recorder{core: app.New()}
	p.start = func() caller { return seen }
	p.reload()
	p.visit("/p/" + doc + "/test")
	p.act("test.start")
	p.wait(20_000)
	p.act("test.stop")
	p.act("test.discard")
	p.visit("/p/" + doc)
	p.beginWork()
	p.wait(2000)
	p.send("work.stop", object{"stop": "pain"})
	p.send("work.set", object{"item": 0, "field": "loadWorksLeftG", "value": 3})
	p.visit("/p/" + doc + "/plan")
	p.send("item.set", object{"item": 0, "field": "holdMS", "value": 3})
	p.visit("/p/" + doc + "/edit")
	p.act("person.save", "name", "Ola B.", "massG", "70", "birthYear", "1990")
	p.onStep("rack_carry")
	p.set("sets", 2)
	p.send("ladder.move", object{"up": true})
	p.act("ladder.cues", "cue1", "Ribs in")
	p.send("sync.state", object{"state": "idle"})
	p.send("sync.request", object{})
	p.send("sync.response", object{}, []byte("no answer"))
	p.send("join.code", object{"code": "BCDF-GHJK-LMNP"})
	p.send("digest", nil)
	return doc, seen.frames[0], seen.frames
}

// TestAnyValue puts values of no sense in each place of each command in turn: a phone in the
// middle of its work answers with a screen or a refusal, and never panics.
func TestAnyValue(t *testing.T) {
	doc, opening, frames := begun(t)
	odd := []any{nil, -1.0, 9e18, 0.5, "x", object{}}
	calls := 0
	for _, whole := range frames {
		all := parts(t, whole)
		var head object
		if err := json.Unmarshal(all[0], &head); err != nil {
			t.Fatal(err)
		}
		leaves(head, func(set func(any), was any) {
			a := opened(opening)
			for _, value := range odd {
				set(value)
				parts(t, a.Call(frame(head, all[1:]...)))
				for _, route := range []string{"/", "/p/" + doc + "/test", "/p/" + doc + "/work"} {
					parts(t, a.Call(frame(object{"do": "go", "args": object{"route": route}})))
				}
				calls++
			}
			set(was)
		})
	}
	t.Logf("%d commands were answered", calls)
}

// leaves visits each value within v that holds no other.
func leaves(v any, visit func(set func(any), was any)) {
	visitOne := func(set func(any), item any) {
		switch item.(type) {
		case object, []any:
			leaves(item, visit)
		default:
			visit(set, item)
		}
	}
	switch v := v.(type) {
	case object:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			visitOne(func(to any) { v[key] = to }, v[key])
		}
	case []any:
		for i, item := range v {
			visitOne(func(to any) { v[i] = to }, item)
		}
	}
}

// FuzzCall gives a phone in the middle of its work any bytes: it answers with a frame, and never
// panics.
func FuzzCall(f *testing.F) {
	_, opening, frames := begun(f)
	for _, frame := range frames {
		f.Add(frame)
	}
	for _, text := range []string{
		"", "{}", `{"do":"open","args":{"rows":[{"store":"meta","key":"me","json":{"device":"x"}}]}}`,
		`{"do":"open","args":{"blobs":[{"store":"log","key":"/"}]}}`,
		`{"do":"go","args":{"route":"/p/"}}`,
		`{"do":"sync.response"}`, `{"do":"join.done","args":{"status":200,"body":null}}`,
	} {
		f.Add(append([]byte{byte(len(text)), 0, 0, 0}, text...))
	}
	f.Add([]byte{255, 255, 255, 255, 1})
	f.Fuzz(func(t *testing.T, frame []byte) {
		for _, a := range []*app.App{app.New(), opened(opening)} {
			parts(t, a.Call(frame))
			parts(t, a.Call(frame))
		}
	})
}

func opened(opening []byte) *app.App {
	a := app.New()
	a.Call(opening)
	return a
}
