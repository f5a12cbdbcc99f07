package app

import (
	"sort"

	"evenhold/internal/boundary"
	"evenhold/internal/sides"
)

// Text is words by key, to be looked up in the phrase files of the page: the
// JSON {"k": key, "a": {name: value}} as it is sent. The empty Text is none.
type Text string

// MarshalJSON returns t as it is, and null for none.
func (t Text) MarshalJSON() ([]byte, error) {
	if t == "" {
		return []byte("null"), nil
	}
	return []byte(t), nil
}

// say makes a Text; args are names and values in turn. A value is a string, a
// number, a Text, []Text, or an instant made by day or clockTime.
func say(key string, args ...any) Text {
	b := appendJSON([]byte(`{"k":`), key)
	for i := 0; i+1 < len(args); i += 2 {
		if i == 0 {
			b = append(b, `,"a":{`...)
		} else {
			b = append(b, ',')
		}
		b = append(appendJSON(b, args[i]), ':')
		b = appendJSON(b, args[i+1])
	}
	if len(args) > 1 {
		b = append(b, '}')
	}
	return Text(append(b, '}'))
}

// sayNumbers is say for a message whose arguments are all numbers.
func sayNumbers(key string, numbers map[string]float64) Text {
	names := make([]string, 0, len(numbers))
	for name := range numbers {
		names = append(names, name)
	}
	sort.Slice(names, func(i, j int) bool { return names[i] < names[j] })
	args := make([]any, 0, 2*len(names))
	for _, name := range names {
		args = append(args, name, numbers[name])
	}
	return say(key, args...)
}

func appendJSON(b []byte, v any) []byte {
	text, err := boundary.Marshal(v)
	if err != nil {
		panic(err) // values come from this package
	}
	return append(b, text...)
}

// instant is a moment to be shown as a date or a time of day.
type instant struct {
	Day  int64 `json:"day,omitempty"`
	Time int64 `json:"time,omitempty"`
}

func day(ms int64) instant       { return instant{Day: ms} }
func clockTime(ms int64) instant { return instant{Time: ms} }

// plain is a person's own words, shown as they are.
func plain(s string) Text { return say("plain", "text", s) }

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
