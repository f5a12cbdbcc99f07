package app_test

import (
	"bytes"
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

// FuzzCall gives a phone in the middle of its work any bytes: it answers with a frame, and never
// panics.
func FuzzCall(f *testing.F) {
	p := newHouse(f).owner()
	doc := p.planned("Ola B.")
	seen := &recorder{core: app.New()}
	p.start = func() caller { return seen }
	p.reload()
	begun := bytes.Clone(seen.frames[0]) // open, with all that is stored
	p.visit("/p/" + doc + "/test")
	p.act("test.prepare", "step", "bent_knee_hold", "first", "drawn")
	p.act("test.start")
	p.visit("/p/" + doc)
	p.act("work.begin")
	p.act("work.start")
	p.send("sync.request", object{})
	p.send("sync.response", object{}, []byte("no answer"))
	p.send("join.code", object{"code": "BCDF-GHJK-LMNP"})
	p.send("digest", nil)
	for _, frame := range seen.frames {
		f.Add(frame)
	}
	for _, text := range []string{
		"", "{}", `{"do":"open","args":{"rows":[{"store":"meta","key":"me","json":{"device":"x"}}]}}`,
		`{"do":"open","args":{"blobs":[{"store":"log","key":"/"}]}}`, `{"do":"go","args":{"route":"/p/"}}`,
		`{"do":"sync.response"}`, `{"do":"join.done","args":{"status":200,"body":null}}`,
	} {
		f.Add(append([]byte{byte(len(text)), 0, 0, 0}, text...))
	}
	f.Add([]byte{255, 255, 255, 255, 1})
	f.Fuzz(func(t *testing.T, frame []byte) {
		for _, a := range []*app.App{app.New(), opened(begun)} {
			parts(t, a.Call(frame))
			parts(t, a.Call(frame))
		}
	})
}

func opened(begun []byte) *app.App {
	a := app.New()
	a.Call(begun)
	return a
}
