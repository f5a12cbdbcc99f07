package app_test

import (
	"strings"
	"testing"

	"evenhold/internal/sessions"
)

// trunk times one hold of the back or front.
func (p *phone) trunk(doc, what string, ms int64, stop string) {
	p.t.Helper()
	p.visit("/p/" + doc + "/hold/" + what)
	p.shows("test", "setup")
	p.says("trunk.not_for", "trunk.stop", "trunk.pose_"+what)
	p.act("trunk.prepare", "told", "no")
	p.shows("test", "timing")
	if n := len(p.view["halves"].([]any)); n != 1 {
		p.t.Fatalf("a hold without sides has %d halves", n)
	}
	p.hold(ms, stop)
}

// row is the row of the screen whose title has this key.
func (p *phone) row(title string) object {
	p.t.Helper()
	for _, section := range p.view["sections"].([]any) {
		for _, row := range section.(object)["rows"].([]any) {
			row := row.(object)
			if text, is := row["title"].(object); is && text["k"] == title {
				return row
			}
		}
	}
	p.t.Fatalf("no row %s on %s", title, p.text())
	return nil
}

// argOf is one argument of the text with this key among a row's lines.
func argOf(t testing.TB, row object, key, name string) any {
	t.Helper()
	for _, line := range row["lines"].([]any) {
		if line := line.(object); line["k"] == key {
			return line["a"].(object)[name]
		}
	}
	t.Fatalf("the row says no %s: %v", key, row)
	return nil
}

// TestBattery holds back 146 s, front 144 s, left 97 s and right 94 s, the means of men in
// "Endurance times for low back stabilization exercises: clinical targets for testing and
// training from a normal database", Arch Phys Med Rehabil 1999;80(8):941-944,
// doi:10.1016/S0003-9993(99)90087-4 (from memory): front over back is the 99 % that its
// abstract prints, and the sides lie about its 65 %.
func TestBattery(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Igor N.", "sex", "male")
	p.screen(doc)
	p.takeTest(doc, 97_000, 94_000)
	p.says("battery.not_held", "battery.missing_extensor", "battery.missing_flexor",
		"battery.no_ratio")
	p.trunk(doc, sessions.Extensor, 146_000, sessions.StopPosition)
	p.shows("result", "")
	p.saysNot("battery.missing_extensor")
	p.trunk(doc, sessions.Flexor, 144_000, sessions.StopGaveUp)
	for title, want := range map[string]float64{
		"battery.ratio.flexor_extensor": 0.99, "battery.ratio.left_extensor": 0.66,
		"battery.ratio.right_extensor": 0.64, "battery.ratio.right_left": 0.97,
	} {
		row := p.row(title)
		if got := argOf(t, row, "battery.ratio", "ratio"); got != want {
			t.Errorf("%s is %v, want %v", title, got, want)
		}
		sources := row["working"].(object)["sources"].([]any)
		if status := sources[0].(object)["status"].(object)["k"]; status != "status.memory" {
			t.Errorf("the band of %s is shown as %v, and is remembered", title, status)
		}
	}
	// At the mean of the sample half of it lies below.
	for _, title := range []string{"battery.sample_extensor", "battery.sample_flexor"} {
		place := p.row(title)["reason"].(object)["a"].(object)["p"]
		if place != 50.0 {
			t.Errorf("%s: above %v of 100, want 50", title, place)
		}
	}
	p.visit("/p/" + doc)
	p.says("trunk.title", "trunk.extensor", "trunk.flexor")
}

// TestBattery_Bound: a hold that ended at a set time, or for another reason than the
// trunk, gives no ratio, and it is said which and why. A slip counts for nothing.
func TestBattery_Bound(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Una L.")
	p.screen(doc)
	p.takeTest(doc, 60_000, 61_000)
	p.visit("/p/" + doc + "/hold/extensor")
	p.act("trunk.prepare", "told", "yes")
	p.hold(30_000, sessions.StopTesterError)
	p.shows("test", "timing")
	p.hold(240_000, sessions.StopLimit)
	row := p.row("battery.ratio.left_extensor")
	if argOf(t, row, "battery.bound_extensor", "why").(object)["k"] != "stop.limit" {
		t.Errorf("why there is no ratio: %v", row["lines"])
	}
	p.trunk(doc, sessions.Flexor, 90_000, sessions.StopElsewhere)
	p.says("battery.bound_flexor")
	p.exchange()
	if n := len(p.records(doc, sessions.KindTrunk)); n != 3 {
		t.Errorf("%d holds are kept, of three", n)
	}
	// The next day's test stands without them.
	p.wait(24 * 3600 * 1000)
	p.takeTest(doc, 60_000, 61_000)
	p.says("battery.not_held", "battery.missing_extensor")
}

// TestTrunk_Flag: with an open red flag neither test begins, and each says why.
func TestTrunk_Flag(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Ezra T.")
	p.screen(doc, "night_pain")
	for _, route := range []string{"/hold/extensor", "/hold/flexor", "/test"} {
		p.visit("/p/" + doc + route)
		p.says("care.flag_title")
		for _, do := range []string{"trunk.prepare", "test.prepare"} {
			if len(p.offers(do)) > 0 {
				t.Errorf("%s offers %s", route, do)
			}
		}
	}
	p.visit("/p/" + doc + "/hold/extensor")
	p.refused("trunk.prepare", object{"values": object{"told": "no"}}, "withheld")
	p.visit("/p/" + doc + "/test")
	p.refused("test.prepare", object{"values": object{
		"step": "straight_leg_hold", "first": "left", "stand": "behind", "told": "no",
	}}, "withheld")
}

// TestTrunk_Reload: a hold goes on counting while the page is dead, and is found again
// from anywhere.
func TestTrunk_Reload(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Olga V.")
	p.visit("/p/" + doc + "/hold/flexor")
	p.act("trunk.prepare", "told", "no")
	p.act("test.start")
	p.wait(20_000)
	p.reload()
	p.visit("/")
	if running := p.view["running"].(object); !strings.HasSuffix(running["route"].(string),
		"/hold/flexor") {
		t.Errorf("the running hold is at %v", running)
	}
	p.visit("/p/" + doc + "/hold/flexor")
	p.wait(25_000)
	p.act("test.stop")
	p.because(sessions.StopGaveUp)
	p.exchange()
	kept := p.records(doc, sessions.KindTrunk)
	if len(kept) != 1 || kept[0]["heldMS"] != int64(45_000) {
		t.Errorf("kept %v, want one hold of 45 s", kept)
	}
	p.visit("/p/" + doc + "/hold/backflip")
	p.refused("trunk.prepare", object{"values": object{"told": "no"}}, "unknown_record")
}
