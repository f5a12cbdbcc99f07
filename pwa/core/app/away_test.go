package app_test

import (
	"strings"
	"testing"
)

// away is a client's phone that has sent everything, in a practice that wants phones emptied after
// 30 days without contact, and a coach's.
func away(t *testing.T) (h *house, coach, p *phone) {
	t.Helper()
	h = newHouse(t)
	h.server.EmptyAfterDays = 30
	coach = h.owner()
	doc := coach.planned("Ira K.")
	coach.exchange()
	return h, coach, coach.client(doc)
}

// holdsRecord reports whether anything of a record is stored.
func (p *phone) holdsRecord() bool {
	return len(p.keys("snap"))+len(p.keys("log")) > 0
}

// TestAway_EmptiesItself: without a network, too. A first start only stops showing what is there;
// one a day later empties the phone, and each start after that says why until it joins again.
func TestAway_EmptiesItself(t *testing.T) {
	h, coach, p := away(t)
	doc := p.rowsOf(t)
	p.house = nil
	p.wait(30*dayMS - 1)
	p.reload()
	p.saysNot("away.finding")
	p.visit("/sync")
	p.says("away.rule")
	p.wait(1)
	p.reload()
	p.says("away.finding", "away.next", "invite.again")
	for _, route := range []string{"/", "/plan", "/log", "/sync", "/phones", "/work"} {
		p.visit(route)
		p.says("away.finding")
		if strings.Contains(p.text(), "Ira") {
			t.Errorf("%s shows who it is about:\n%s", route, p.text())
		}
	}
	p.wait(dayMS - 1)
	p.reload()
	p.says("away.finding")
	if !p.holdsRecord() {
		t.Error("emptied by one reading of a clock that may be wrong")
	}
	p.wait(1)
	p.reload()
	p.says("away.emptied", "welcome.finding")
	if p.holdsRecord() || len(p.keys("run"))+len(p.keys("view")) > 2 {
		t.Errorf("still there: %v %v", p.keys("run"), p.keys("view"))
	}
	p.wait(dayMS)
	p.reload()
	p.says("away.emptied", "welcome.finding")

	p.house = h
	h.meet(p.wallMS)
	for range 2 { // in touch now and then, the coach's phone goes on
		coach.wait(17 * dayMS)
		coach.exchange()
	}
	coach.visit("/p/" + doc + "/invite")
	coach.act("invite.make")
	p.do("join.code", object{"code": coach.view["code"]})
	p.join()
	p.saysNot("away.finding")
	p.reload()
	p.saysNot("away.finding", "away.emptied")
	p.exchange()
	p.saysNot("away.finding", "away.emptied")
	if !p.holdsRecord() {
		t.Error("it did not come back")
	}
}

// rowsOf is the record that a client's phone holds.
func (p *phone) rowsOf(t *testing.T) string {
	t.Helper()
	var me struct {
		Doc string `json:"doc"`
	}
	p.stored("meta", "me", &me)
	if me.Doc == "" {
		t.Fatal("not a client's phone")
	}
	return me.Doc
}

// TestAway_KeepsWhatIsUnsent: it may be the only copy of somebody's work. It is told of, can be
// worked with, and goes only when it has arrived and no session is under way.
func TestAway_KeepsWhatIsUnsent(t *testing.T) {
	h, _, p := away(t)
	doc := p.rowsOf(t)
	p.house = nil
	p.visit("/")
	p.act("work.begin")
	for range 3 {
		p.wait(40 * dayMS)
		p.reload()
		p.says("away.kept")
		p.saysNot("away.finding", "away.emptied")
		p.visit("/phones")
		p.says("away.kept") // on any list, for the page goes on at once where it was
		p.visit("/sync")
		p.says("away.kept")
	}
	p.house = h
	h.meet(p.wallMS)
	before := h.document(doc).Len()
	p.exchange()
	p.saysNot("away.finding", "away.emptied")
	p.visit("/work")
	p.do("work.leave", object{})
	p.exchange()
	p.says("away.emptied", "welcome.finding")
	if p.holdsRecord() {
		t.Error("the record is still there")
	}
	if after := h.document(doc).Len(); after <= before {
		t.Errorf("the server has %d operations, had %d: what was unsent is lost", after, before)
	}
	if p.signIn() {
		t.Error("the server still lets it in")
	}
}

const year = 365 * dayMS

// wrongClocks are ways in which the phone's clock or the server's is wrong for a while.
var wrongClocks = []struct {
	name string
	run  func(h *house, p *phone)
}{
	{"set back", func(_ *house, p *phone) {
		p.wallMS -= 10 * year
		p.reload()
		p.wait(2 * dayMS)
		p.reload()
	}},
	{"far ahead, then right again", func(_ *house, p *phone) {
		p.wallMS += year
		p.reload()
		p.says("away.finding")
		p.wallMS -= year - 2*dayMS
		p.reload()
	}},
	{"ahead twice, right in between", func(_ *house, p *phone) {
		p.wallMS += year
		p.reload()
		p.wallMS -= year
		p.reload()
		p.wallMS += year + 2*dayMS
		p.reload()
		p.says("away.finding")
		p.wallMS -= year
		p.reload()
	}},
	{"far ahead, then the server tells the time", func(h *house, p *phone) {
		p.wallMS += year
		p.reload()
		p.says("away.finding")
		p.house = h
		p.exchange()
	}},
	{"always a year ahead", func(h *house, p *phone) {
		p.wallMS += year
		p.house = h
		p.exchange()
		p.house = nil
		p.wait(29 * dayMS)
		p.reload()
	}},
	{"the server's far ahead", func(h *house, p *phone) {
		p.house = h
		h.nowMS += year
		p.exchange()
		p.reload()
		h.nowMS -= year
		p.exchange()
		p.reload()
	}},
}

// TestAway_WrongClocks: neither the phone's clock nor the server's empties a phone by itself.
func TestAway_WrongClocks(t *testing.T) {
	for _, tt := range wrongClocks {
		t.Run(tt.name, func(t *testing.T) {
			h, _, p := away(t)
			p.t, p.house = t, nil
			tt.run(h, p)
			p.saysNot("away.finding", "away.emptied", "away.kept")
			if !p.holdsRecord() {
				t.Error("emptied")
			}
		})
	}
}

// TestAway_AsThePracticeWants: off unless it is wanted; what the server says at the next contact
// holds, also for a phone that is overdue by what it had heard before.
func TestAway_AsThePracticeWants(t *testing.T) {
	for _, days := range []int{0, 90} {
		h, _, p := away(t)
		p.house = nil
		p.wait(60 * dayMS)
		p.reload()
		p.says("away.finding")
		h.server.EmptyAfterDays = days
		p.house = h
		h.meet(p.wallMS)
		p.exchange()
		p.saysNot("away.finding", "away.emptied")
		if days > 0 {
			continue
		}
		p.house = nil
		p.wait(1000 * dayMS)
		p.reload()
		p.wait(1000 * dayMS)
		p.reload()
		p.saysNot("away.finding", "away.emptied", "away.kept")
	}
}
