package app_test

import (
	"strings"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/server/access"
	"evenhold/server/store"
	"evenhold/sync/clock"
	"evenhold/sync/exchange"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// answerWith makes one exchange whose answer edit changes on its way.
func (p *phone) answerWith(edit func(q wire.Request, r *wire.Response)) answer {
	p.t.Helper()
	asking := p.send("sync.request", object{})
	if asking.Request == nil {
		p.t.Fatalf("nothing to send: %v", asking.Error)
	}
	request := asking.blobs[*asking.Request]
	q, err := wire.ParseRequest(request)
	if err != nil {
		p.t.Fatal(err)
	}
	body, _ := p.carry(request)
	r, err := wire.ParseAnswer(body, q)
	if err != nil {
		p.t.Fatal(err)
	}
	edit(q, &r)
	return p.send("sync.response", object{}, r.AppendAnswer(nil, q))
}

// without refuses the operations of one field.
type without string

func (w without) May(op record.Operation) string {
	if op.Field == string(w) {
		return wire.CodeForbidden
	}
	return ""
}

// TestRefusedIsShown keeps what a server refused on the phone, with the reason.
func TestRefusedIsShown(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Vic G.", "complaint", "sore knee")
	asking := p.send("sync.request", object{})
	q, err := wire.ParseRequest(asking.blobs[*asking.Request])
	if err != nil {
		t.Fatal(err)
	}
	state := exchange.DeviceState{
		Device: q.Device, Have: q.PushFrom, Chain: q.Chain, Last: clock.Stamp{Device: q.Device},
	}
	asked := q
	q.IsBrief = false // the proof is the real server's to check
	judged := exchange.Judge(q, state, without("complaint"), p.wallMS)
	if len(judged.Refused) != 1 {
		t.Fatalf("%d operations were refused, want one", len(judged.Refused))
	}
	r := exchange.Answer(q, judged, q.Epoch, p.wallMS)
	p.send("sync.response", object{}, r.AppendAnswer(nil, asked))
	for _, when := range []string{"at once", "after a reload"} {
		p.visit("/sync")
		p.says("state.attention", "sync.refused", "refused.forbidden")
		if got := p.texts("sync.refused_line"); len(got) != 1 || got[0]["field"] != "complaint" &&
			!strings.Contains(p.text(), "field.complaint") {
			t.Errorf("%s: what was refused reads %v", when, got)
		}
		p.visit("/p/" + doc)
		if p.view["head"].(object)["name"] != "Vic G." {
			t.Errorf("%s: the rest of the record is not kept: %s", when, p.text())
		}
		if strings.Contains(p.text(), "sore knee") {
			t.Errorf("%s: the refused words still count", when)
		}
		p.reload()
	}
}

// TestGoneIsWiped leaves nothing of a record that this person may no longer see.
func TestGoneIsWiped(t *testing.T) {
	p := newHouse(t).owner()
	kept := p.planned("Wim H.")
	gone := p.addClient("Xenia J.", "massG", "70")
	p.screen(gone)
	p.takeTest(gone, 40_000, 50_000)
	p.act("/plan")
	p.do("plan.set", object{"item": 0, "field": "holdMS", "value": 5})
	p.exchange()
	p.prepare(gone, "left")
	p.act("test.start")
	id, err := record.ParseID(gone)
	if err != nil {
		t.Fatal(err)
	}
	p.answerWith(func(_ wire.Request, r *wire.Response) {
		r.Gone = append(r.Gone, wire.Gone{Doc: id, Reason: wire.CodeGone})
	})
	if strings.Contains(p.text(), "Xenia") {
		t.Errorf("the screen still shows the person: %s", p.text())
	}
	for key, row := range p.rows {
		text, isBlob := row.([]byte)
		if !isBlob {
			text = row.(rawJSON)
		}
		if key.store != "meta" && (strings.Contains(key.key, gone) && key.store != "view" ||
			strings.Contains(string(text), "Xenia")) {
			t.Errorf("%s/%s still holds the person", key.store, key.key)
		}
	}
	p.reload()
	p.visit("/p/" + kept)
	p.says("person.plan")
	if _, found := p.digests()[gone]; found {
		t.Error("the record opens again")
	}
}

// copyOf is a second install with the same storage, as after a restored phone.
func (p *phone) copyOf() *phone {
	twin := *p
	twin.rows = map[rowKey]any{}
	for key, value := range p.rows {
		twin.rows[key] = value
	}
	twin.reload()
	return &twin
}

// TestForkTakesNewIdentity has two installs with one identity both write: nothing is lost, and
// each entry is there once.
func TestForkTakesNewIdentity(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Yan K.")
	p.exchange()
	twin := p.copyOf()
	p.visit("/p/" + doc)
	p.wait(1000)
	p.addClient("Zoe L.")
	twin.wait(2000)
	other := twin.addClient("Ada M.", "complaint", "left hip")
	twin.prepare(other, "left")
	twin.hold(20_000, sessions.StopGaveUp)
	twin.prepare(doc, "right")
	twin.act("test.start")
	twin.wait(10_000)
	twin.visit("/p/" + other + "/test")
	p.exchange()
	device := string(p.rows[rowKey{"meta", "me"}].(rawJSON))
	twin.exchange()
	if got := string(twin.rows[rowKey{"meta", "me"}].(rawJSON)); got == device {
		t.Error("the copy goes on under the same identity")
	}
	if twin.route != "/" {
		t.Errorf("the copy stays at %s, which is somebody else's now", twin.route)
	}
	twin.visit("/p/" + doc + "/test")
	twin.wait(5000)
	twin.act("test.stop")
	if got := twin.half("right")["heldS"]; got != 15.0 {
		t.Errorf("the hold that ran meanwhile shows %v s, want 15", got)
	}
	twin.act("test.discard")
	twin.act("test.abandon")
	twin.exchange()
	p.exchange()
	same(t, "after both have sent all", twin.digests(), p.digests())
	for name, phone := range map[string]*phone{"first": p, "copy": twin} {
		phone.visit("/sync")
		phone.says("state.sent")
		phone.visit("/")
		names := map[any]int{}
		each(phone.view, func(o object) { names[o["name"]]++ })
		if names["Yan K."] != 1 || names["Zoe L."] != 1 || names["Ada M."] != 1 {
			t.Errorf("%s lists %v", name, names)
		}
		phone.reload()
	}
	same(t, "after a reload", twin.digests(), p.digests())
}

// TestNewIdentityWaitsForNetwork asks again when the network went away within the asking.
func TestNewIdentityWaitsForNetwork(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Bea O.")
	device := string(p.rows[rowKey{"meta", "me"}].(rawJSON))
	online := func() {}
	p.answerWith(func(_ wire.Request, r *wire.Response) {
		r.Problem = wire.CodeForked
		online = p.offline()
	})
	p.visit("/p/" + doc)
	if p.view["head"].(object)["name"] != "Bea O." {
		t.Errorf("what waits to be sent is not shown: %s", p.text())
	}
	online()
	p.exchange()
	p.exchange()
	if string(p.rows[rowKey{"meta", "me"}].(rawJSON)) == device {
		t.Error("the phone goes on under the same identity")
	}
	p.visit("/")
	names := 0
	each(p.view, func(o object) {
		if o["name"] == "Bea O." && o["lines"] != nil {
			names++
		}
	})
	if names != 1 {
		t.Errorf("the person is listed %d times: %s", names, p.text())
	}
	p.says("state.sent")
}

// TestAnswerUnread changes nothing for an answer that is damaged, foreign or late.
func TestAnswerUnread(t *testing.T) {
	p := newHouse(t).owner()
	p.addClient("Ben N.")
	before := p.digests()
	asking := p.send("sync.request", object{})
	body, _ := p.carry(asking.blobs[*asking.Request])
	for name, damaged := range map[string][]byte{
		"cut short": body[:len(body)-1], "empty": {}, "foreign": []byte("<!doctype html>"),
	} {
		a := p.send("sync.response", object{}, damaged)
		if a.Error == nil || a.Error["code"] != "malformed" {
			t.Errorf("%s: %v", name, a.Error)
		}
	}
	p.refused("sync.response", object{}, "malformed") // no answer at all
	if a := p.send("sync.response", object{}, body); a.Error != nil {
		t.Errorf("the true answer is refused after the others: %v", a.Error)
	}
	if a := p.send("sync.response", object{}, body); a.Error != nil {
		t.Errorf("the same answer again is an error: %v", a.Error)
	}
	same(t, "in the end", p.digests(), before)
}

// TestForeignNumbers opens and changes a plan that another program wrote with values of no sense.
func TestForeignNumbers(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.planned("Cleo P.")
	p.exchange()
	code, _, err := p.house.server.Desk().Invite(store.Member{Person: p.member().Person}, access.Guest{
		Role: sessions.Coach, Name: "Other Coach"})
	if err != nil {
		t.Fatal(err)
	}
	_, hash := access.NewSecret()
	const device clock.Device = 0x0dd
	m, err := p.house.server.Desk().Join("", code.String(), store.Joining{
		Device: device, SecretHash: hash, Name: "Other Coach"})
	if err != nil {
		t.Fatal(err)
	}
	d := p.house.document(doc)
	pen := record.NewAuthor(device, 0, [32]byte{}, clock.New(device, clock.Stamp{}))
	var ops []record.Operation
	for _, item := range d.Records(sessions.KindItem) {
		for field, value := range map[string]record.Value{
			"reps": record.Text("many"), "holdMS": record.Int(-1 << 62),
			"loadWorksLeftG": record.Int(1 << 62), "step": record.Text("moonwalk"),
		} {
			op, err := pen.Write(d, item.ID(), sessions.KindItem, field, value, p.wallMS)
			if err != nil {
				t.Fatal(err)
			}
			ops = append(ops, op)
		}
	}
	pushed, err := p.house.store.Push(wire.Request{
		Schema: wire.Schema, Device: device, WallMS: p.wallMS, Push: ops,
	}, m, access.Rules(m.Person), p.wallMS)
	if err != nil || pushed.Problem != "" || len(pushed.Refused) > 0 {
		t.Fatal(err, pushed.Problem, pushed.Refused)
	}
	p.exchange()
	p.visit("/")
	p.visit("/p/" + doc)
	p.visit("/p/" + doc + "/plan")
	for _, field := range []string{"sets", "reps", "holdMS", "loadWorksLeftG", "restSetMS"} {
		p.send("item.set", object{"item": 0, "field": field, "value": 3})
	}
	p.send("work.begin", object{})
	p.send("work.start", object{})
}

// member is this phone as the server knows it.
func (p *phone) member() store.Member {
	p.t.Helper()
	var me struct{ Device string }
	p.stored("meta", "me", &me)
	device, err := clock.ParseDevice(me.Device)
	if err != nil {
		p.t.Fatal(err)
	}
	m, err := p.house.store.MemberByDevice(p.t.Context(), device)
	if err != nil {
		p.t.Fatal(err)
	}
	return m
}
