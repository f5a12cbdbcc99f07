package app_test

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"evenhold/pwa/core/app"
)

// object is JSON in memory.
type object = map[string]any

// caller is a core: the native one, or the WebAssembly file.
type caller interface{ Call(frame []byte) []byte }

// rowKey names a stored row.
type rowKey struct{ store, key string }

// phone is what a phone has around its core: storage, two clocks and a way to the server. Time
// stands still until wait.
type phone struct {
	t     testing.TB
	core  caller
	start func() caller  // makes a core without memory, as a reload does
	rows  map[rowKey]any // JSON text of a row, or the bytes of a blob
	known *schema

	wallMS, monoMS int64
	run            int // of the page
	tzMin          int64
	drawn          uint64 // so many random numbers

	house  *house // nil: there is no network
	cookie string
	token  string

	view  object // the last one shown
	route string
	error object // of the last answer
	sync  bool
	later string // the command that the worker would run by itself after a while
}

// startMS is a Monday noon: 2026-03-02T12:00:00Z.
const startMS = 1_772_452_800_000

func newPhone(t testing.TB) *phone {
	t.Helper()
	return newPhoneOf(t, func() caller { return app.New() })
}

func newPhoneOf(t testing.TB, start func() caller) *phone {
	t.Helper()
	p := &phone{
		t: t, start: start, rows: map[rowKey]any{}, known: views(t), wallMS: startMS, tzMin: 60,
	}
	p.reload()
	return p
}

// reload kills the page and opens it again on what is stored: the monotonic clock starts anew.
func (p *phone) reload() {
	p.t.Helper()
	p.run++
	p.monoMS = 40
	p.core, p.later = p.start(), ""
	rows, blobs, values := []object{}, []object{}, [][]byte{}
	for _, store := range []string{"meta", "run", "snap", "log"} {
		for _, key := range p.keys(store) {
			switch value := p.rows[rowKey{store, key}].(type) {
			case []byte:
				blobs = append(blobs, object{"store": store, "key": key})
				values = append(values, value)
			case json.RawMessage:
				rows = append(rows, object{"store": store, "key": key, "json": value})
			}
		}
	}
	p.send("open", object{"rows": rows, "blobs": blobs}, values...)
}

// keys are the keys of a store, as storage sorts them.
func (p *phone) keys(store string) []string {
	var keys []string
	for key := range p.rows {
		if key.store == store {
			keys = append(keys, key.key)
		}
	}
	slices.Sort(keys)
	return keys
}

func (p *phone) wait(ms int64) {
	p.wallMS += ms
	p.monoMS += ms
	if p.house != nil {
		p.house.meet(p.wallMS)
	}
}

// frame is the bytes of a command, as the worker makes them.
func frame(head any, blobs ...[]byte) []byte {
	text, err := json.Marshal(head)
	if err != nil {
		panic(err)
	}
	var b []byte
	for _, part := range append([][]byte{text}, blobs...) {
		b = binary.LittleEndian.AppendUint32(b, uint32(len(part)))
		b = append(b, part...)
	}
	return b
}

// parts cuts a frame up.
func parts(t testing.TB, b []byte) (all [][]byte) {
	t.Helper()
	for len(b) > 0 {
		if len(b) < 4 || uint64(binary.LittleEndian.Uint32(b)) > uint64(len(b)-4) {
			t.Fatalf("not a frame: %d bytes after %d parts", len(b), len(all))
		}
		n := binary.LittleEndian.Uint32(b)
		all = append(all, b[4:4+n])
		b = b[4+n:]
	}
	if len(all) == 0 {
		t.Fatal("an empty frame")
	}
	return all
}

// answer is what a call gives back.
type answer struct {
	Error   object          `json:"error"`
	View    object          `json:"view"`
	Route   string          `json:"route"`
	Sync    bool            `json:"sync"`
	Unsent  int             `json:"unsent"`
	Busy    bool            `json:"underWay"`
	Request *int            `json:"request"`
	Result  json.RawMessage `json:"result"`
	Writes  []struct {
		Store  string          `json:"store"`
		Key    string          `json:"key"`
		Blob   *int            `json:"blob"`
		JSON   json.RawMessage `json:"json"`
		Delete bool            `json:"delete"`
		Range  []string        `json:"range"`
	} `json:"writes"`
	Ask *struct {
		Path string `json:"path"`
		Body any    `json:"body"`
		Then string `json:"then"`
		Auth bool   `json:"auth"`
	} `json:"ask"`
	Later *struct {
		Do string `json:"do"`
		MS int64  `json:"ms"`
	} `json:"later"`

	blobs [][]byte
}

// send gives the core a command, stores what it asks to have stored, checks the screen, and
// carries a question to the server and its answer back.
func (p *phone) send(do string, args any, blobs ...[]byte) answer {
	p.t.Helper()
	p.drawn++
	a := p.read(p.core.Call(frame(object{
		"do": do, "args": args, "tzMin": p.tzMin, "random": fmt.Sprintf("%016x%016x", p.id(), p.drawn),
		"at": object{"wallMS": p.wallMS, "monoMS": p.monoMS, "run": fmt.Sprint(p.run)},
	}, blobs...)))
	p.store(a)
	p.error, p.sync = a.Error, a.Sync
	if a.Later != nil {
		p.later = a.Later.Do
	}
	if a.View != nil {
		p.view, p.route = a.View, a.View["route"].(string)
		p.known.check(p.t, do, a.View)
	}
	if a.Error != nil {
		p.known.checkAs(p.t, do+": error", "Text", a.Error["text"])
	}
	if a.Ask != nil {
		status, body := p.asked(a.Ask.Path, a.Ask.Body, a.Ask.Auth)
		return p.send(a.Ask.Then, object{"status": status, "body": body})
	}
	return a
}

// id is this phone's own part of its random numbers.
func (p *phone) id() uint64 {
	if p.house == nil {
		return 0x0f0e0d0c0b0a0908 + p.drawn
	}
	return p.house.draw()
}

func (p *phone) read(out []byte) answer {
	p.t.Helper()
	all := parts(p.t, out)
	var a answer
	if err := json.Unmarshal(all[0], &a); err != nil {
		p.t.Fatalf("%v in %s", err, all[0])
	}
	// The answer is valid until the next call.
	for _, blob := range all[1:] {
		a.blobs = append(a.blobs, slices.Clone(blob))
	}
	return a
}

// store does what IndexedDB does with writes.
func (p *phone) store(a answer) {
	p.t.Helper()
	for _, w := range a.Writes {
		at := rowKey{w.Store, w.Key}
		switch {
		case len(w.Range) == 2:
			maps.DeleteFunc(p.rows, func(k rowKey, _ any) bool {
				return k.store == w.Store && k.key >= w.Range[0] && k.key <= w.Range[1]
			})
		case w.Delete:
			delete(p.rows, at)
		case w.Blob != nil:
			p.rows[at] = a.blobs[*w.Blob]
		case len(w.JSON) > 0:
			p.rows[at] = slices.Clone(w.JSON)
		default:
			p.t.Fatalf("a write to %s/%s without a value", w.Store, w.Key)
		}
	}
}

// do is send for a command that must succeed.
func (p *phone) do(do string, args any) {
	p.t.Helper()
	if a := p.send(do, args); a.Error != nil {
		p.t.Fatalf("%s refused: %v", do, a.Error)
	}
}

// refused is send for a command that must be refused with a code.
func (p *phone) refused(do string, args any, code string) {
	p.t.Helper()
	a := p.send(do, args)
	if a.Error == nil || a.Error["code"] != code {
		p.t.Fatalf("%s gave %v, want a refusal with %q", do, a.Error, code)
	}
}

// doLater waits as long as the core asked for and does what it wanted then.
func (p *phone) doLater() {
	p.t.Helper()
	if p.later == "" {
		p.t.Fatalf("nothing is to be done later on %s: %s", p.route, p.text())
	}
	p.wait(3_000)
	later := p.later
	p.later = ""
	p.do(later, nil)
}

func (p *phone) visit(route string) {
	p.t.Helper()
	p.do("go", object{"route": route})
	if p.route != route {
		p.t.Fatalf("%s shows %s", route, p.route)
	}
}

// act taps a button of the screen, found by its command or route; it must be offered once.
func (p *phone) act(what string, values ...string) {
	p.t.Helper()
	found := p.offers(what)
	if len(found) != 1 {
		p.t.Fatalf("%q is offered %d times on %s: %s", what, len(found), p.route, p.text())
	}
	p.tap(found[0], values...)
}

// tap does what an action says, with the form's values given as name, value, name, value.
func (p *phone) tap(action object, values ...string) {
	p.t.Helper()
	if route, is := action["route"].(string); is {
		p.visit(route)
		return
	}
	args, _ := action["args"].(object)
	args = maps.Clone(args)
	if args == nil {
		args = object{}
	}
	if len(values) > 0 {
		typed := object{}
		for i := 0; i < len(values); i += 2 {
			typed[values[i]] = values[i+1]
		}
		args["values"] = typed
	}
	p.do(action["do"].(string), args)
}

// offers lists the actions on the screen whose command, or route's end, is what.
func (p *phone) offers(what string) []object {
	var found []object
	each(p.view, func(o object) {
		do, _ := o["do"].(string)
		route, _ := o["route"].(string)
		isAct := o["label"] != nil && o["id"] == nil || o["act"] != nil
		if isAct && (do == what || route != "" && strings.HasSuffix(route, what)) {
			found = append(found, o)
		}
	})
	return found
}

// text is the screen as JSON.
func (p *phone) text() string {
	text, err := json.Marshal(p.view)
	if err != nil {
		p.t.Fatal(err)
	}
	return string(text)
}

// each visits every object within v.
func each(v any, visit func(object)) {
	switch v := v.(type) {
	case object:
		visit(v)
		for _, key := range slices.Sorted(maps.Keys(v)) {
			each(v[key], visit)
		}
	case []any:
		for _, item := range v {
			each(item, visit)
		}
	}
}

// texts are the arguments of each Text on the screen with the key k.
func (p *phone) texts(k string) []object {
	var found []object
	each(p.view, func(o object) {
		if o["k"] == k {
			args, _ := o["a"].(object)
			found = append(found, args)
		}
	})
	return found
}

// says checks that the screen holds each key.
func (p *phone) says(keys ...string) {
	p.t.Helper()
	for _, k := range keys {
		if len(p.texts(k)) == 0 {
			p.t.Errorf("%s does not say %q: %s", p.route, k, p.text())
		}
	}
}

// saysNot checks that the screen holds none of the keys.
func (p *phone) saysNot(keys ...string) {
	p.t.Helper()
	for _, k := range keys {
		if len(p.texts(k)) > 0 {
			p.t.Errorf("%s says %q: %s", p.route, k, p.text())
		}
	}
}

// shows checks which screen is drawn.
func (p *phone) shows(screen, phase string) {
	p.t.Helper()
	got, _ := p.view["phase"].(string)
	if p.view["screen"] != screen || got != phase {
		p.t.Fatalf("%s shows %v %q, want %s %q", p.route, p.view["screen"], got, screen, phase)
	}
}

// digests are the core's digests of its documents.
func (p *phone) digests() map[string]string {
	p.t.Helper()
	var all map[string]string
	if err := json.Unmarshal(p.send("digest", nil).Result, &all); err != nil {
		p.t.Fatal(err)
	}
	return all
}
