package wire

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestLesson_W10_Learnt learns the lesson again, from the conversation in testdata, and compares it
// with the one that all programs have.
//
// The conversation is that of the first client of the example practice who is on track and of the
// coach, without names and complaints: requests and their answers in turn, each as version 2 after
// its length. The words are the 400 that stand most often in the English phrases of this product
// (2026-11-25), then the codes of SPEC.md.
func TestLesson_W10_Learnt(t *testing.T) {
	conversation, err := os.ReadFile(filepath.Join("testdata", "lesson.bin"))
	if err != nil {
		t.Fatal(err)
	}
	words, _, _ := strings.Cut(lessonTexts, "\n")
	texts, models := learn(string(conversation), strings.Fields(words)[:lessonOwnWords])
	if texts != lessonTexts {
		t.Error("other words or shapes were learnt")
	}
	if models != lessonModels {
		t.Error("other chances were learnt")
	}
}

// lessonOwnWords of the words were given, the others were met in the conversation.
const lessonOwnWords = 412

// learn has models write the conversation down and packs what they are afterwards. It does so
// twice: first with one set of models for the values of all shapes, from which each shape's own
// then begin.
func learn(conversation string, words []string) (texts, models string) {
	l := &lesson{shapeAt: map[shape]uint32{}, next: make([]uint64, 1)}
	for _, word := range words {
		l.words.learn(word)
	}
	first := newModels()
	first.isGeneric = true
	study(l, first, conversation)
	first.numbers = first.numbers[2*aboutValues:]
	l.models = "\x00" + packNumbers(first.numbers)
	l.index(&l.generic, 1)
	m := newModels()
	study(l, m, conversation)
	packed, next := []byte{}, make([]uint64, 1+len(m.fresh)*recordModes)
	copy(next, m.next)
	for _, symbol := range next {
		packed = binary.AppendUvarint(packed, symbol)
	}
	models = string(packed) + packNumbers(m.numbers) + packNumbers(first.numbers) +
		packLetters(m.letters)
	texts = strings.Join(append(words, m.known.words...), " ") + "\n"
	for i, s := range m.fresh {
		if i > 0 {
			texts += " "
		}
		texts += s.kind + " " + s.field
	}
	return texts + "\n", models
}

// study writes the conversation with m, which keeps what it learns from frame to frame.
func study(l *lesson, m *models, conversation string) {
	m.teach(l)
	q := Request{}
	for isRequest := true; conversation != ""; isRequest = !isRequest {
		size, n := binary.Uvarint([]byte(conversation))
		frame := []byte(conversation[n : n+int(size)])
		conversation = conversation[n+int(size):]
		var err error
		if isRequest {
			if q, err = ParseRequest(frame); err == nil {
				q.IsBrief = q.Epoch != 0
				writeWith(m, nil, q.fillBrief)
			}
		} else {
			var p Response
			if p, err = ParseResponse(frame); err == nil {
				end := q.PushFrom + uint64(len(q.Push))
				p.IsKnown = p.Epoch == q.Epoch && (p.Have == q.PushFrom || p.Have == end)
				writeWith(m, q.devices(), func(w *writer) { p.fillBrief(w, q) })
			}
		}
		if err != nil {
			panic(err)
		}
	}
}

func packNumbers(all []*numbers) string {
	return pack(len(all), func(place int) (chances func(i int) *chance, count int) {
		if all[place] == nil {
			return nil, 0
		}
		return all[place].chance, allChances
	})
}

func packLetters(all [32]*letter) string {
	return pack(len(all), func(place int) (chances func(i int) *chance, count int) {
		if all[place] == nil {
			return nil, 0
		}
		return func(i int) *chance { return &all[place][i] }, len(all[place])
	})
}

// pack writes the models that have learnt anything, as lesson.index and lesson.begin read them.
func pack(places int, model func(place int) (func(i int) *chance, int)) string {
	var b []byte
	models := uint64(0)
	for place := range places {
		chances, count := model(place)
		var pairs []byte
		last := 0
		for i := range count {
			c := *chances(i)
			if c&chanceSeen == 0 {
				continue
			}
			for ; i-last >= farther; last += farther {
				pairs = append(pairs, farther, 0)
			}
			pairs = append(pairs, byte(i-last), byte((uint32(c)>>10^chanceHalf)>>14))
			last = i
		}
		if len(pairs) > 0 {
			models++
			b = binary.AppendUvarint(b, uint64(place))
			b = binary.AppendUvarint(b, uint64(len(pairs)))
			b = append(b, pairs...)
		}
	}
	return string(binary.AppendUvarint(nil, models)) + string(b)
}
