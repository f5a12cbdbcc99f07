package wire

import (
	_ "embed"
	"encoding/binary"
	"strings"
)

// lesson is what the models of a version 3 frame know before it begins. It was learnt once, from
// a frozen conversation of the example practice and from this product's own English phrases
// (lesson_test.go learns it again); a change would change the meaning of every frame.
type lesson struct {
	words   dictionary
	shapes  []shape
	shapeAt map[shape]uint32
	next    []uint64 // of the follower
	models  string   // where the other three point into

	numbers []int // by place in models.numbers; 0 for none
	generic []int // the same, of a shape that the lesson does not have
	letters []int // by row
}

// lessonTexts has two lines, separated by spaces: words, the most frequent first, and shapes as
// kind and field in turn. lessonModels holds the numbers of SPEC.md.
var (
	//go:embed lesson.txt
	lessonTexts string
	//go:embed lesson.bin
	lessonModels string

	taught = readLesson(lessonTexts, lessonModels)
)

// trust is for how many bits a chance of the lesson counts in a frame: enough to begin with, few
// enough to be unlearnt. Of 1 to 40 it gave the shortest messages of clients of the example whom
// the lesson did not have.
const trust = 2

func readLesson(texts, models string) *lesson {
	l := &lesson{shapeAt: map[shape]uint32{}, models: models}
	words, shapes, _ := strings.Cut(texts, "\n")
	for _, word := range strings.Split(words, " ") {
		l.words.learn(word)
	}
	names := strings.Fields(shapes)
	for i := 0; i+1 < len(names); i += 2 {
		s := shape{names[i], names[i+1]}
		l.shapeAt[s] = uint32(len(l.shapes))
		l.shapes = append(l.shapes, s)
	}
	at := 0
	l.next = make([]uint64, 1+len(l.shapes)*recordModes)
	for i := range l.next {
		l.next[i], at = l.number(at)
	}
	for _, places := range []*[]int{&l.numbers, &l.generic, &l.letters} {
		at = l.index(places, at)
	}
	return l
}

// number reads a varint.
func (l *lesson) number(at int) (v uint64, next int) {
	end := min(len(l.models), at+binary.MaxVarintLen64)
	v, n := binary.Uvarint([]byte(l.models[at:end]))
	if n <= 0 {
		panic("wire: the lesson is damaged")
	}
	return v, at + n
}

// index notes where each model of a section stands.
func (l *lesson) index(places *[]int, at int) (next int) {
	count, at := l.number(at)
	for range count {
		var place, size uint64
		place, at = l.number(at)
		for uint64(len(*places)) <= place {
			*places = append(*places, 0)
		}
		(*places)[place] = at
		size, at = l.number(at)
		at += int(size)
	}
	return at
}

// begin has the chances of a model begin as the lesson left them. They stand as pairs of bytes
// after their length: how many chances further on, and the probability in 256ths.
func (l *lesson) begin(places []int, place int, chances func(i int) *chance) {
	if place >= len(places) || places[place] == 0 {
		return
	}
	size, at := l.number(places[place])
	i := 0
	for pairs := l.models[at : at+int(size)]; len(pairs) > 1; pairs = pairs[2:] {
		i += int(pairs[0])
		if pairs[0] < farther {
			*chances(i) = chance((uint32(pairs[1])<<14|1<<13)^chanceHalf)<<10 | trust
		}
	}
}

// farther is a step that ends between two chances.
const farther = 255

// teach has the numbers at a place begin as the lesson left them.
func (l *lesson) teach(place int, m *numbers) {
	first := 2 * aboutValues
	if place < first || (place-first)/(2*perShape) < len(l.shapes) {
		l.begin(l.numbers, place, m.chance)
		return
	}
	l.begin(l.generic, (place-first)%(2*perShape), m.chance)
}
