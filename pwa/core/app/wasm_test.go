package app_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"sync"
	"testing"
	"time"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"

	"evenhold/internal/sessions"
	"evenhold/pwa/build/corefile"
	"evenhold/pwa/core/app"
	"evenhold/server/demo"
)

// memoryLimit is what the core may take of a phone's memory, in bytes.
const memoryLimit = 48_000_000

// reactor is the core as phones get it, built once, started for each page.
type reactor struct {
	runtime wazero.Runtime
	file    wazero.CompiledModule
}

// built is kept until the tests end: making it takes longer than running it.
var built = sync.OnceValues(func() (*reactor, error) {
	text, err := corefile.Compile("../../..", "./pwa/core")
	if err != nil {
		return nil, err
	}
	ctx := context.Background()
	r := &reactor{runtime: wazero.NewRuntime(ctx)}
	if _, err := wasi_snapshot_preview1.Instantiate(ctx, r.runtime); err != nil {
		return nil, err
	}
	r.file, err = r.runtime.CompileModule(ctx, text)
	return r, err
})

// startFile makes an instance without memory.
func startFile(t testing.TB) *instance {
	t.Helper()
	r, err := built()
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	module, err := r.runtime.InstantiateModule(ctx, r.file,
		wazero.NewModuleConfig().WithName("").WithStartFunctions("_initialize").
			WithSysWalltime().WithSysNanotime().WithRandSource(rand.Reader))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := module.Close(ctx); err != nil {
			t.Error(err)
		}
	})
	return &instance{t, module}
}

// instance is one run of the WebAssembly file.
type instance struct {
	t      testing.TB
	module api.Module
}

func (i *instance) Call(frame []byte) []byte {
	ctx := context.Background()
	place, err := i.module.ExportedFunction("alloc").Call(ctx, uint64(len(frame)))
	if err != nil {
		i.t.Fatal(err)
	}
	memory := i.module.Memory()
	if !memory.Write(uint32(place[0]), frame) {
		i.t.Fatalf("no room for a frame of %d bytes", len(frame))
	}
	packed, err := i.module.ExportedFunction("call").Call(ctx, place[0], uint64(len(frame)))
	if err != nil {
		i.t.Fatal(err)
	}
	out, fits := memory.Read(uint32(packed[0]>>32), uint32(packed[0]))
	if !fits {
		i.t.Fatal("an answer outside the memory")
	}
	return bytes.Clone(out)
}

// twins runs one command on the native core and on the WebAssembly file and holds their answers
// to be the same.
type twins struct {
	t      testing.TB
	native *app.App
	file   *instance
	calls  *int
}

func (two *twins) Call(frame []byte) []byte {
	two.t.Helper()
	got, want := two.file.Call(frame), two.native.Call(frame)
	*two.calls++
	if !bytes.Equal(got, want) {
		two.t.Fatalf("call %d: WebAssembly answers\n%q\nand the native core\n%q", *two.calls, got, want)
	}
	return want
}

// TestWebAssemblyAnswersAlike takes the file that phones get through the loop, byte for byte as
// the native core, with a reload in a hold and one in a series.
func TestWebAssemblyAnswersAlike(t *testing.T) {
	calls := 0
	twin := func() caller { return &twins{t, app.New(), startFile(t), &calls} }
	h := newHouse(t)
	coach := newPhoneOf(t, twin)
	coach.house = h
	code, _, err := h.server.Desk().SetUp(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	coach.do("join.code", object{"code": code.String()})
	coach.join("practice", "Example Yard", "name", "Robin Example")
	coach.exchange()
	coach.onStep("straight_leg_hold")
	coach.set("holdMS", 8)
	coach.act("ladder.cues", "cue1", "Belt buckle up", "cue2", "", "cue3", "")
	coach.onStep("rack_carry")
	coach.act("ladder.hide")
	coach.tap(coach.offers("ladder.move")[0])
	doc := coach.prescribe()

	client := newPhoneOf(t, twin)
	client.house, client.wallMS = h, h.nowMS
	client.do("join.code", object{"code": coach.view["code"]})
	client.join()
	client.exchange()
	online := client.offline()
	client.beginWork()
	client.act("work.start")
	client.wait(9000)
	client.reload()
	client.visit("/work")
	client.wait(client.lengthMS() - 9000)
	client.tap(client.view["atEnd"].(object))
	client.toCarry()
	client.act("work.enter")
	client.act("work.feel")
	client.act("work.finish", "effort", "4", "pain", "1")
	online()
	client.exchange()
	coach.exchange()
	coach.visit("/p/" + doc)
	coach.says("people.last")
	if got, want := client.digests()[doc], coach.digests()[doc]; got != want || got == "" {
		t.Errorf("the two phones hold %q and %q", got, want)
	}
	t.Logf("%d answers were the same", calls)
}

// prescribe takes a new client from the first question to an invitation, with a
// reload in the middle of a hold, and returns the record's name.
func (p *phone) prescribe() string {
	doc := p.addClient("Ned A.", "massG", "70,5", "statureMM", "١٧٢", "birthYear", "1990")
	p.screen(doc, "trauma")
	p.act("/clear")
	p.act("flags.clear", "by", "K. Example, physiotherapist", "note", "no cause for concern")
	p.prepare(doc, "drawn")
	p.act("test.start")
	p.wait(20_000)
	p.reload()
	p.visit("/p/" + doc + "/test")
	p.wait(21_400)
	p.act("test.stop")
	p.because(sessions.StopGaveUp)
	p.rest()
	p.hold(58_900, sessions.StopPosition)
	p.act("/plan")
	p.refused("plan.set", object{"item": 1, "field": "loadWorksLeftG", "value": 900}, "field")
	p.do("plan.set", object{"item": 1, "field": "loadWorksLeftG", "value": "7,5"})
	p.act("plan.accept", "reason", "tired")
	p.exchange()
	p.visit("/p/" + doc + "/invite")
	p.act("invite.make")
	return doc
}

// TestMemoryOfExamplePractice opens the example practice as its coach's phone does.
func TestMemoryOfExamplePractice(t *testing.T) {
	h := newHouse(t)
	h.nowMS = startMS
	code, _, err := demo.Fill(time.UnixMilli(startMS), h.store, h.server.Desk())
	if err != nil {
		t.Fatal(err)
	}
	var last *instance
	p := newPhoneOf(t, func() caller {
		last = startFile(t)
		return last
	})
	p.house = h
	p.do("join.code", object{"code": code.String()})
	p.join("name", "Robin Example")
	p.exchange()
	synced := last.module.Memory().Size()
	before := p.digests()
	p.reload()
	same(t, "after a reload", p.digests(), before)
	opened := last.module.Memory().Size()
	p.visit("/")
	var routes []string
	each(p.view, func(o object) {
		if route, is := o["route"].(string); is && o["lines"] != nil {
			routes = append(routes, route)
		}
	})
	if len(routes) < 5 {
		t.Fatalf("the example shows %d people", len(routes))
	}
	for _, route := range routes {
		for _, screen := range []string{"", "/plan", "/test", "/flags", "/edit"} {
			p.visit(route + screen)
		}
	}
	walked := last.module.Memory().Size()
	t.Logf("memory: %d B after fetching all, %d B opened, %d B after %d screens",
		synced, opened, walked, 5*len(routes))
	if most := max(synced, opened, walked); most > memoryLimit {
		t.Errorf("the core takes %d B, more than %d", most, memoryLimit)
	}
}
