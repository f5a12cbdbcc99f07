package app_test

import (
	"testing"

	"evenhold/internal/sessions"
	"evenhold/pwa/core/app"
)

func (p *phone) setNoise(percent, from string) {
	p.t.Helper()
	p.visit("/practice/noise")
	p.act("noise.save", "percent", percent, "from", from)
}

func (p *phone) noise() float64 { return p.core.(*app.App).NoisePercent() }

// verdict is the key of the verdict on the test on the screen.
func (p *phone) verdict() any {
	p.t.Helper()
	return p.view["verdict"].(object)["k"]
}

// TestNoise_Set: 40 s against 60 s is 40.5 % on the log scale. By a noise of 5 % that is
// 5.9 times √2·4.9 %, far beyond; by 40 % it is 0.9 times √2·33.6 %, inside. The verdict,
// its working, the list and the way back all follow the setting.
func TestNoise_Set(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Yara D.")
	p.screen(doc)
	p.takeTest(doc, 40_000, 60_000)
	result, before := p.route, p.verdict()
	p.says("noise.published")
	for percent, want := range map[string]string{
		"5": "verdict.larger_than_noise", "40": "verdict.cannot_tell",
	} {
		p.setNoise(percent, "counted here last winter")
		p.visit(result)
		if got := p.verdict(); got != want {
			t.Errorf("by a noise of %s %%: %v, want %s", percent, got, want)
		}
		p.says("noise.is_set", "status.entered", "noise.own")
		p.saysNot("noise.published")
	}
	p.visit("/practice/noise")
	p.act("noise.auto")
	p.visit(result)
	p.saysNot("noise.is_set")
	if got := p.verdict(); got != before {
		t.Errorf("back at the own records: %v, was %v", got, before)
	}
}

// TestNoise_Refused: out of bounds, without a source, and by whom it is not to be set.
func TestNoise_Refused(t *testing.T) {
	owner := newHouse(t).owner()
	owner.visit("/practice/noise")
	for _, bad := range [][2]string{{"4.9", "x"}, {"41", "x"}, {"", "x"}, {"low", "x"}, {"12", " "}} {
		owner.refused("noise.save", object{
			"values": object{"percent": bad[0], "from": bad[1]},
		}, "field")
		if got := owner.field("percent")["value"]; got != bad[0] {
			t.Errorf("%q was typed, %q is kept", bad[0], got)
		}
	}
	assistant := owner.colleague(sessions.Assistant, "Sam Example")
	assistant.visit("/practice/noise")
	assistant.says("practice.read_only")
	assistant.refused("noise.save", object{
		"values": object{"percent": "12", "from": "x"},
	}, "role")
}

// TestNoise_Client: the noise that a coach's phone goes by is kept with the test, so that
// the client's phone, which holds one record only, goes by the same.
func TestNoise_Client(t *testing.T) {
	owner := newHouse(t).owner()
	doc := owner.planned("Rae C.")
	client := owner.client(doc)
	for _, percent := range []string{"9", "31"} {
		owner.setNoise(percent, "counted here")
		owner.exchange()
		client.exchange()
		if a, b := owner.noise(), client.noise(); a != b {
			t.Errorf("set to %s %%, the coach's phone goes by %v and the client's by %v", percent, a, b)
		}
	}
	published := 17.0 // exp(√(ln 1.121 · ln 1.241)) - 1, in percent, by hand
	other := owner.addClient("Mika S.")
	for range 2 {
		owner.takeTest(other, 50_000, 55_000)
		owner.wait(7 * 24 * 3600 * 1000)
	}
	owner.visit("/practice/noise")
	owner.act("noise.auto")
	if got := owner.noise(); got > published-0.2 {
		t.Errorf("two tests alike leave the noise at %v %%, published %v %%", got, published)
	}
	owner.exchange()
	client.exchange()
	if a, b := owner.noise(), client.noise(); a != b {
		t.Errorf("by the own records the coach's phone goes by %v and the client's by %v", a, b)
	}
}
