package wire

import (
	"strings"

	"evenhold/sync/record"
)

// load is what a frame's bytes turn into. A model that is sure of itself can put much into
// little; memory for what comes out is bounded by what came in.
type load struct{ operations, textBytes int }

func (l load) isTooDense(size int) bool {
	return l.operations > 64+4*size || l.textBytes > 1<<16+64*size
}

// commonWords are known to every frame of version 2: the names that the product writes. They
// are only a start; any other word costs its letters once in a frame. The list is frozen.
var commonWords = strings.Split("set session item client practice plan test trial screen clear "+
	"decision author note step down hand working number reps holdMS heldMS loadG distanceMM "+
	"timeMS startedMS clock stop asked voided left right mono wall target order side kind name "+
	"role effort pain by endedMS state load loadWorksLeftG loadWorksRightG restMS sets person", " ")

// dictionary holds the words of a frame so far.
type dictionary struct {
	taught *dictionary // the words of the lesson, in version 3
	words  []string
	index  map[string]int // past the common ones and the lesson's; writers only
}

var commonIndex = func() map[string]int {
	index := map[string]int{}
	for i, word := range commonWords {
		index[word] = i
	}
	return index
}()

func (d *dictionary) find(word string) (at int, found bool) {
	if at, found = commonIndex[word]; found {
		return at, true
	}
	if d.taught != nil {
		if at, found = d.taught.index[word]; found {
			return at, true
		}
	}
	at, found = d.index[word]
	return at, found
}

// start is how many words were known before the frame began.
func (d *dictionary) start() int {
	if d.taught == nil {
		return len(commonWords)
	}
	return d.taught.start() + len(d.taught.words)
}

func (d *dictionary) learn(word string) {
	if d.index == nil {
		d.index = map[string]int{}
	}
	d.index[word] = d.start() + len(d.words)
	d.words = append(d.words, word)
}

func (d *dictionary) at(i int) (word string, found bool) {
	if i < len(commonWords) {
		return commonWords[i], true
	}
	if start := d.start(); i < start {
		return d.taught.at(i)
	} else if i -= start; i >= len(d.words) {
		return "", false
	}
	return d.words[i], true
}

// words writes a text of version 2: 0 and an identifier, if it is one's spelling, else one more
// than its count of spaces and the words between them.
func (w *writer) words(text string) {
	w.load.textBytes += len(text)
	if id, err := record.ParseID(text); err == nil {
		w.coded.number(w.model(w.wordSlots[1]), 0)
		w.reference(id)
		return
	}
	parts := strings.Split(text, " ")
	w.coded.number(w.model(w.wordSlots[1]), uint64(len(parts)))
	for _, word := range parts {
		at, found := w.known.find(word)
		if found {
			w.coded.number(w.model(w.wordSlots[0]), uint64(at)+1)
			continue
		}
		w.coded.number(w.model(w.wordSlots[0]), 0)
		w.coded.number(w.model(aboutWordNew), uint64(len(word)))
		before := byte(0)
		for i := range len(word) {
			w.coded.tree(w.after(before), uint32(word[i]), 8)
			before = word[i]
		}
		w.known.learn(word)
	}
}

// reference writes an identifier as its device and the distance from the last one's number.
func (w *writer) reference(id record.ID) {
	m := w.model(aboutReference)
	w.coded.number(w.model(w.inVersion3(aboutDevices, aboutReference)), w.deviceIndex(id.Device))
	w.coded.number(m, zigzag(int64(id.Seq-w.referred)))
	w.referred = id.Seq
}

// words reads a text of version 2.
func (r *reader) words(maxBytes int) string {
	count := r.number(r.model(r.wordSlots[1]))
	if count == 0 {
		return r.reference()
	}
	if count > uint64(maxBytes)+1 {
		r.fail(ErrLimit)
		return ""
	}
	var text []byte
	for i := range count {
		if i > 0 {
			text = append(text, ' ')
		}
		word := r.word(maxBytes)
		if len(text)+len(word) > maxBytes {
			r.fail(ErrLimit)
		}
		if r.err != nil {
			return ""
		}
		text = append(text, word...)
	}
	r.load.textBytes += len(text)
	if r.load.isTooDense(len(r.coded.in)) {
		r.fail(ErrMalformed)
		return ""
	}
	return string(text)
}

func (r *reader) word(maxBytes int) string {
	if at := r.number(r.model(r.wordSlots[0])); at > 0 {
		word, found := r.known.at(int(min(at-1, 1<<31)))
		if !found {
			r.fail(ErrMalformed)
		}
		return word
	}
	length := r.number(r.model(aboutWordNew))
	if length > uint64(maxBytes) {
		r.fail(ErrLimit)
	}
	if r.err != nil {
		return ""
	}
	var word []byte
	before := byte(0)
	for range length {
		before = byte(r.coded.tree(r.after(before), 8))
		word = append(word, before)
		if r.coded.isOver() {
			r.fail(ErrMalformed)
			return ""
		}
	}
	r.known.words = append(r.known.words, string(word))
	return string(word)
}

func (r *reader) reference() string {
	m := r.model(aboutReference)
	device := r.deviceAt(r.number(r.model(r.inVersion3(aboutDevices, aboutReference))))
	r.referred += uint64(unzigzag(r.number(m)))
	id := record.ID{Device: device, Seq: r.referred}
	if r.err == nil && (device == 0 || id.Seq == 0) {
		r.fail(ErrMalformed)
	}
	text := id.String()
	r.load.textBytes += len(text)
	return text
}
