package app_test

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"evenhold/pwa/core/app"
)

func readWords(path string) (map[string]bool, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var all map[string]string
	if err := json.Unmarshal(text, &all); err != nil {
		return nil, err
	}
	known := map[string]bool{"plain": true} // a person's own words
	for key := range all {
		known[key] = true
	}
	return known, nil
}

// check holds a screen to views.ts, to the phrase file, to the commands that there are, and to
// the rule that a down side or hand is never said without the side that works.
func (s *schema) check(t testing.TB, from string, view object) {
	t.Helper()
	kind := map[any]string{
		"list": "ListView", "form": "FormView", "test": "TestView", "result": "ResultView",
		"plan": "PlanView", "invite": "InviteView", "work": "WorkView", "notice": "NoticeView",
	}[view["screen"]]
	s.checkAs(t, from, kind, view)
	each(view, func(o object) {
		if do, is := o["do"].(string); is && !app.Knows(do) {
			t.Errorf("%s: the screen offers the unknown command %q", from, do)
		}
	})
	for _, bad := range loneSides(view) {
		t.Errorf("%s: %s", from, bad)
	}
}

// checkAs holds a value to one type of views.ts, and its words to the phrase file.
func (s *schema) checkAs(t testing.TB, from, kind string, v any) {
	t.Helper()
	if bad := named(kind).misfit(s, kind, v); bad != "" {
		t.Errorf("%s: %s", from, bad)
	}
	each(v, func(o object) {
		if k, is := o["k"].(string); is && !s.words[k] {
			t.Errorf("%s: no phrase for %q", from, k)
		}
	})
}

// A side bridge lying on the right elbow works the right side; a weight in the right hand works
// the left side of the trunk: common practice, no source.
var works = map[string]map[string]string{
	"side.lies_on":    {"left": "left", "right": "right"},
	"side.leans_on":   {"left": "left", "right": "right"},
	"side.elbow_down": {"left": "left", "right": "right"},
	"side.in_hand":    {"left": "right", "right": "left"},
	"set.hold":        {"left": "left", "right": "right"},
	"set.carry":       {"left": "right", "right": "left"},
	"set.lift":        {"left": "right", "right": "left"},
	"sum.hold":        {"left": "left", "right": "right"},
	"sum.hand":        {"left": "right", "right": "left"},
	"trial":           {"left": "left", "right": "right"},
}

// loneSides says where a screen names a down side or a hand without the side that works beside
// it, or with the wrong one.
func loneSides(v any) (bad []string) {
	var walk func(v any)
	beside := func(all []any) {
		place, placed, working := "", "", ""
		for _, item := range all {
			k, side := sideOf(item)
			switch {
			case k == "side.works":
				working = side
			case works[k] != nil && strings.HasPrefix(k, "side."):
				place, placed = k, side
			}
		}
		if place != "" && works[place][placed] != working {
			bad = append(bad, place+" "+placed+" stands beside works "+working)
		}
	}
	walk = func(v any) {
		switch v := v.(type) {
		case []any:
			beside(v)
			for _, item := range v {
				walk(item)
			}
		case object:
			var all []any
			for _, item := range v {
				all = append(all, item)
				walk(item)
			}
			beside(all)
			if msg := setSides(v); msg != "" {
				bad = append(bad, msg)
			}
			if v["less"] != nil && v["side"] != nil && v["notes"] == nil {
				bad = append(bad, "a stepper of one side without its words")
			}
		}
	}
	walk(v)
	return bad
}

// sideOf reads {"k": key, "a": {"side": {"k": "side.left"}}}.
func sideOf(v any) (key, side string) {
	text, _ := v.(object)
	key, _ = text["k"].(string)
	args, _ := text["a"].(object)
	return key, sideWord(args["side"])
}

func sideWord(v any) string {
	text, _ := v.(object)
	key, _ := text["k"].(string)
	return strings.TrimPrefix(key, "side.")
}

// setSides checks the line of a logged set, of several or of a trial.
func setSides(text object) string {
	key, side := sideOf(text)
	family := key
	switch {
	case strings.HasPrefix(key, "trial."):
		family = "trial"
	case strings.HasPrefix(key, "set.carry"):
		family = "set.carry"
	case !strings.HasPrefix(key, "set.") && !strings.HasPrefix(key, "sum."):
		return ""
	}
	args, _ := text["a"].(object)
	if want := works[family][side]; want == "" || sideWord(args["works"]) != want {
		return key + " on " + side + " says works " + sideWord(args["works"])
	}
	return ""
}

func parsed(t *testing.T, text string) object {
	t.Helper()
	var v object
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// TestCheckIsStrict shows that the checks of a screen can fail.
func TestCheckIsStrict(t *testing.T) {
	s := views(t)
	const good = `{"screen":"notice","route":"/","head":{"state":{"k":"state.saved"}},` +
		`"finding":{"k":"x","a":{"n":1,"on":{"day":5}}},"lines":[],"actions":[]}`
	fits := func(text string) string { return named("NoticeView").misfit(s, "view", parsed(t, text)) }
	if bad := fits(good); bad != "" {
		t.Fatal(bad)
	}
	for name, change := range map[string][2]string{
		"missing property": {`"lines":[],`, ``},
		"unknown property": {`"lines":[]`, `"lines":[],"colour":"red"`},
		"null":             {`"lines":[]`, `"lines":null`},
		"wrong kind":       {`"route":"/"`, `"route":7`},
		"wrong literal":    {`"screen":"notice"`, `"screen":"list"`},
		"deep":             {`{"k":"state.saved"}`, `{"key":"state.saved"}`},
	} {
		if fits(strings.Replace(good, change[0], change[1], 1)) == "" {
			t.Errorf("%s is not found", name)
		}
	}
	const pair = `[{"k":"side.in_hand","a":{"side":{"k":"side.right"}}},` +
		`{"k":"side.works","a":{"side":{"k":"side.left"}}}]`
	if bad := loneSides(parsed(t, `{"notes":`+pair+`}`)); len(bad) > 0 {
		t.Errorf("hand right, works left: %v", bad)
	}
	for name, text := range map[string]string{
		"the wrong side": strings.Replace(pair, "side.left", "side.right", 1),
		"a lone hand":    `[{"k":"side.in_hand","a":{"side":{"k":"side.right"}}}]`,
	} {
		if len(loneSides(parsed(t, `{"notes":`+text+`}`))) == 0 {
			t.Errorf("%s is not found", name)
		}
	}
}
