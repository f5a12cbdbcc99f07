package app_test

import (
	"testing"

	"evenhold/internal/sessions"
)

// places are the places in samples on the screen, by the words of the sample.
func (p *phone) places(title string) map[string]float64 {
	p.t.Helper()
	all := map[string]float64{}
	for _, section := range p.view["sections"].([]any) {
		for _, row := range section.(object)["rows"].([]any) {
			row := row.(object)
			if text, is := row["title"].(object); !is || text["k"] != title {
				continue
			}
			name := wordOf(row["lines"].([]any)[0].(object))
			all[name] = row["reason"].(object)["a"].(object)["p"].(float64)
		}
	}
	return all
}

// TestSamples: a hold one SD above a sample's mean lies above 84 of 100, at the mean above
// 50 (normal curve: Φ(1) = 0.8413, NIST/SEMATECH e-Handbook of Statistical Methods, section
// 1.3.6.7.1, 2012). The practice's sample stands beside the published one, says who it was
// and that it is small.
func TestSamples(t *testing.T) {
	p := newHouse(t).owner()
	doc := p.addClient("Noa B.", "sex", "female")
	p.screen(doc)
	p.takeTest(doc, 60_000, 80_000)
	result := p.route
	before := len(p.places("result.sample_left"))
	p.visit("/practice/samples")
	p.act("samples.add", "name", "our rowers", "what", "side_bridge", "sex", "female",
		"people", "12", "meanMS", "60", "sdMS", "20")
	p.says("caution.small_sample")
	p.act("samples.add", "name", "our sailors", "what", "extensor", "sex", "female",
		"people", "40", "meanMS", "60", "sdMS", "20")
	p.visit(result)
	left, right := p.places("result.sample_left"), p.places("result.sample_right")
	if left["our rowers"] != 50 || right["our rowers"] != 84 {
		t.Errorf("above %v and %v of 100, want 50 and 84", left["our rowers"], right["our rowers"])
	}
	if _, found := left["our sailors"]; found || len(left) != before+1 {
		t.Errorf("placed among %v", left)
	}
	p.says("caution.small_sample", "status.entered", "result.skew", "caution.right_skew")
	p.visit("/practice/samples")
	for _, remove := range p.offers("void")[:1] {
		p.tap(remove)
	}
	p.visit(result)
	if left := p.places("result.sample_left"); len(left) != before {
		t.Errorf("the sample was taken out, and is among %v", left)
	}
}

// TestSamples_Sex: beside a place in a sample of another sex, of both, or of a sex while the
// person's is not noted, plain words say so; beside one of the person's own sex nothing does.
func TestSamples_Sex(t *testing.T) {
	p := newHouse(t).owner()
	for name, sex := range map[string]string{"women": "female", "men": "male", "both": ""} {
		p.visit("/practice/samples")
		p.act("samples.add", "name", name, "what", "side_bridge", "sex", sex,
			"people", "40", "meanMS", "60", "sdMS", "20")
	}
	p.says("samples.women", "samples.men", "samples.mixed")
	tests := map[string]map[string]string{
		"female": {"women": "", "men": "result.sample_men", "both": "result.sample_mixed"},
		"male":   {"women": "result.sample_women", "men": "", "both": "result.sample_mixed"},
		"": {
			"women": "result.sample_women", "men": "result.sample_men",
			"both": "result.sample_mixed", "sample.adults-2014-left": "result.sample_mixed",
		},
	}
	for sex, want := range tests {
		doc := p.addClient("Kim "+sex, "sex", sex)
		p.screen(doc)
		p.takeTest(doc, 60_000, 80_000)
		said := p.sexWords("result.sample_left")
		for name, word := range want {
			if got, shown := said[name]; !shown || got != word {
				t.Errorf("client %q in the sample %q: %q (shown: %t), want %q", sex, name, got,
					shown, word)
			}
		}
	}
}

// sexWords are what is said of the sex of each sample on the screen, "" where nothing is.
func (p *phone) sexWords(title string) map[string]string {
	p.t.Helper()
	all := map[string]string{}
	for _, section := range p.view["sections"].([]any) {
		for _, row := range section.(object)["rows"].([]any) {
			row := row.(object)
			if text, is := row["title"].(object); !is || text["k"] != title {
				continue
			}
			lines := row["lines"].([]any)
			name := wordOf(lines[0].(object))
			all[name] = ""
			for _, line := range lines[1:] {
				switch key := line.(object)["k"].(string); key {
				case "result.sample_mixed", "result.sample_women", "result.sample_men":
					all[name] += key
				}
			}
		}
	}
	return all
}

// wordOf is the key of a text, or what a plain one says.
func wordOf(text object) string {
	if text["k"] == "plain" {
		return text["a"].(object)["text"].(string)
	}
	return text["k"].(string)
}

// TestSamples_Own: the practice's own records are a sample when it says so: two people with
// 40 and 80 s have a mean of 60 s.
func TestSamples_Own(t *testing.T) {
	p := newHouse(t).owner()
	for name, leftMS := range map[string]int64{"Ana A.": 40_000, "Ben B.": 80_000} {
		doc := p.addClient(name)
		p.screen(doc)
		p.takeTest(doc, leftMS, 50_000)
	}
	result := p.route
	if _, found := p.places("result.sample_left")["sample.own"]; found {
		t.Error("the own records are used, and nobody said so")
	}
	p.visit("/practice/samples")
	p.says("samples.own_off", "samples.median")
	p.act("samples.own")
	p.says("samples.own_on")
	row := p.row("samples.side_left")
	if mean := argOf(t, row, "result.sample_numbers", "mean"); mean != 60.0 {
		t.Errorf("the mean is %v s, want 60", mean)
	}
	if n := len(row["working"].(object)["steps"].([]any)); n != 2 {
		t.Errorf("mean and SD are shown with %d steps", n)
	}
	p.visit(result)
	if place, found := p.places("result.sample_left")["sample.own"]; !found || place == 50 {
		t.Errorf("placed at %v (%v)", place, found)
	}
	p.visit("/practice/samples")
	p.act("samples.own")
	p.visit(result)
	if _, found := p.places("result.sample_left")["sample.own"]; found {
		t.Error("the own records are used, and were left out")
	}
}

// TestSamples_Refused: what is no sample is refused with the reason; who may not.
func TestSamples_Refused(t *testing.T) {
	owner := newHouse(t).owner()
	good := object{
		"name": "x", "what": "extensor", "sex": "", "people": "30", "meanMS": "100", "sdMS": "40",
	}
	with := func(field, value string) object {
		bad := object{field: value}
		for id, v := range good {
			if id != field {
				bad[id] = v
			}
		}
		return object{"values": bad}
	}
	owner.visit("/practice/samples")
	for _, bad := range [][2]string{
		{"name", ""}, {"what", "moonwalk"}, {"sex", "x"}, {"people", "1"}, {"people", ""},
		{"meanMS", "0"}, {"meanMS", "1801"}, {"sdMS", "-1"}, {"sdMS", "wide"},
	} {
		owner.refused("samples.add", with(bad[0], bad[1]), "field")
		if owner.error["field"] != bad[0] {
			t.Errorf("%v: the refusal names %v", bad, owner.error["field"])
		}
	}
	assistant := owner.colleague(sessions.Assistant, "Sam Example")
	assistant.visit("/practice/samples")
	assistant.says("practice.read_only")
	assistant.refused("samples.add", with("name", "y"), "role")
	assistant.refused("samples.own", object{"use": true}, "role")
}
