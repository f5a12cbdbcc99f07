package app

import (
	"evenhold/internal/sides"
)

// Text is words by key, to be looked up in the phrase files of the page.
type Text struct {
	K string         `json:"k"`
	A map[string]any `json:"a,omitempty"`
}

// say makes a Text; args are names and values in turn. A value is a string, a
// number, a Text, []Text, or an instant made by day or clockTime.
func say(key string, args ...any) Text {
	t := Text{K: key}
	for i := 0; i+1 < len(args); i += 2 {
		if t.A == nil {
			t.A = map[string]any{}
		}
		t.A[args[i].(string)] = args[i+1]
	}
	return t
}

// plain is a person's own words, shown as they are.
func plain(s string) Text { return say("plain", "text", s) }

func day(ms int64) any       { return map[string]int64{"day": ms} }
func clockTime(ms int64) any { return map[string]int64{"time": ms} }

// sideWord is the bare name of a side, to stand inside a sentence that says
// which kind of side it is.
func sideWord[S ~string](s S) Text { return say("side." + string(s)) }

// downNotes says the down side and the working side.
func downNotes(d sides.Down) []Text {
	return []Text{
		say("side.lies_on", "side", sideWord(d)),
		say("side.works", "side", sideWord(d.Works())),
	}
}

// handNotes says the hand and the working side.
func handNotes(h sides.Hand) []Text {
	return []Text{
		say("side.in_hand", "side", sideWord(h)),
		say("side.works", "side", sideWord(h.Works())),
	}
}
