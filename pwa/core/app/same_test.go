package app_test

import "testing"

// setsTold counts the sets of a screen that lists or sums them.
func (p *phone) setsTold(route string) float64 {
	p.visit(route)
	n := float64(len(p.texts("set.hold")))
	for _, sum := range p.texts("sum.hold") {
		n += sum["n"].(float64)
	}
	return n
}

// TestSameSet has the coach's phone and the client's log the same first set. Nothing is
// joined unasked; joined, it counts once on both phones and in the table, and the undo
// brings both back.
func TestSameSet(t *testing.T) {
	coach, p, doc, online := pair(t)
	p.beginWork()
	coach.visit("/p/" + doc)
	coach.beginWork()
	coach.wait(p.wallMS - coach.wallMS + 2_000) // two seconds after the client's phone
	p.series()
	coach.series()
	coach.exchange()
	online()
	p.exchange()
	p.exchange()
	coach.exchange()

	page := "/p/" + doc
	coach.visit("/")
	coach.says("reason.same")
	coach.visit(page)
	coach.says("same.section", "same.first", "same.second", "same.score")
	set := coach.texts("same.first")[0]["what"].(object)["a"].(object)
	if set["side"] == nil || set["works"] == nil {
		t.Errorf("a set is told without its sides: %v", set)
	}
	if n := p.setsTold("/log"); n != 2 {
		t.Fatalf("%v sets count before anybody joined them, want 2", n)
	}

	coach.visit(page)
	joins := coach.offers("same.join")
	if len(joins) != 3 {
		t.Fatalf("%d answers are offered, want three", len(joins))
	}
	coach.tap(joins[0])
	coach.says("same.joined_section", "same.counts", "same.not_counted")
	coach.saysNot("same.section")
	coach.exchange()
	p.exchange()
	if n := p.setsTold("/log"); n != 1 {
		t.Errorf("%v sets count on the client's phone once joined, want 1", n)
	}
	if got, want := p.digests()[doc], coach.digests()[doc]; got != want {
		t.Errorf("the two phones hold %s and %s", got, want)
	}
	p.refused("same.join", joins[0]["args"], "role")

	coach.visit(page)
	coach.tap(coach.offers("same.undo")[0])
	coach.says("same.section")
	coach.saysNot("same.joined_section")
	coach.tap(coach.offers("same.join")[2])
	coach.saysNot("same.section", "same.joined_section")
	coach.reload()
	coach.visit(page)
	coach.saysNot("same.section")
	coach.exchange()
	p.exchange()
	if n := p.setsTold("/log"); n != 2 {
		t.Errorf("%v sets count after the pair was declined, want 2", n)
	}
}
