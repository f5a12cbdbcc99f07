package wire

import "evenhold/sync/clock"

// What the numbers of a frame are about. Each has a model of its own, and each shape has some.
// Those past aboutReference are of version 3 alone.
const (
	aboutHead = iota // all that is not operations
	aboutWalls
	aboutCommits
	aboutAuthors
	aboutSeqs
	aboutCounts
	aboutReadings
	aboutDocs
	aboutShapes
	aboutSymbols
	aboutNamed
	aboutReplaced
	aboutReplacedHow
	aboutReplacedSpelt
	aboutGroups // of a column: one further on
	aboutWords
	aboutWordNew
	aboutWordCount
	aboutReference

	aboutDevices
	aboutHits
	aboutModes
	aboutSpeltBack
	aboutSpeltCount
	aboutSchema
	aboutEpoch
	aboutNumber
	aboutClock
	aboutSeen
	aboutHave
	aboutProof
	aboutVerdicts
	aboutPulls
	aboutCursors
	aboutWhole
	aboutMore
	aboutChanged
	aboutHeads
	aboutPages
	aboutPageSize
	aboutGone
	aboutProblem
	aboutValues // of the first shape
)

// What the numbers of a shape's values are about, past aboutValues.
const (
	ofTypes = iota
	ofWholes
	ofBools
	ofTexts
	ofFrom      // of version 3: what whole numbers are told from
	ofWords     // of version 3
	ofWordCount // of version 3
	perShape
)

// models is what a frame of version 2 or 3 has learnt so far.
type models struct {
	slot     int         // what the next numbers are about
	numbers  []*numbers  // by what they are about, in version 3 two for each: groups have their own
	letters  [32]*letter // the bytes of new words, by the lower bits of the byte before
	known    dictionary
	referred uint64 // the number of the last identifier that stood as a text

	// Of version 3 alone.
	taught    *lesson // nil in version 2
	isGeneric bool    // all shapes share their models
	wallMS    int64   // what the first wall reading is told from
	own       clock.Device
	ownSeq    uint64           // own's last number before this frame
	fresh     []shape          // shapes past those of the lesson
	freshAt   map[shape]uint32 // where those stand
	next      []uint64         // of the follower

	wordSlots [2]int // what a text's words, and how many they are, are about
}

type letter [256]chance

var plainWords = [2]int{aboutWords, aboutWordCount}

func newModels() *models {
	return &models{wordSlots: plainWords}
}

// after returns the model of a letter that follows another.
func (m *models) after(before byte) []chance {
	row := &m.letters[before%32]
	if *row == nil {
		*row = new(letter)
		if m.taught != nil {
			m.taught.begin(m.taught.letters, int(before%32), func(i int) *chance { return &(*row)[i] })
		}
	}
	return (*row)[:]
}

func (m *models) model(about int) *numbers { return m.at(2 * about) }

// groups returns the model of the sizes of a column's groups.
func (m *models) groups() *numbers {
	if m.taught == nil {
		return m.model(aboutGroups)
	}
	return m.at(2*m.slot + 1)
}

func (m *models) at(place int) *numbers {
	if first := 2 * aboutValues; m.isGeneric && place >= first {
		place = first + (place-first)%(2*perShape)
	}
	for place >= len(m.numbers) {
		m.numbers = append(m.numbers, nil)
	}
	if m.numbers[place] == nil {
		m.numbers[place] = new(numbers)
		if m.taught != nil {
			m.taught.teach(place, m.numbers[place])
		}
	}
	return m.numbers[place]
}

// about says what the next numbers are about and returns what the last ones were. A frame of
// version 1 has no models and does not care.
func (m *models) about(next int) (last int) {
	if m == nil {
		return 0
	}
	last, m.slot = m.slot, next
	return last
}

// isTaught reports whether the frame is of version 3.
func (m *models) isTaught() bool { return m != nil && m.taught != nil }

// inVersion3 is what a number is about there, and in the versions before.
func (m *models) inVersion3(about, before int) int {
	if m.isTaught() {
		return about
	}
	return before
}

// speak says which shape the next texts are of, by the slot of its texts. In version 3 each shape
// has words of its own. It returns what ends that.
func (m *models) speak(slot int) (end func()) {
	if m.taught != nil {
		m.wordSlots = [2]int{slot - ofTexts + ofWords, slot - ofTexts + ofWordCount}
	}
	return func() { m.wordSlots = plainWords }
}

// lastSeqs returns each device's last number before this frame, as far as both ends know it.
func (m *models) lastSeqs() map[clock.Device]uint64 {
	last := map[clock.Device]uint64{}
	if m.isTaught() {
		last[m.own] = m.ownSeq
	}
	return last
}

// teach has the models of a frame of version 3 begin with the lesson.
func (m *models) teach(l *lesson) {
	m.taught, m.known.taught = l, &l.words
	m.next = append([]uint64(nil), l.next...)
}
