package wire

// What the numbers of a frame are about. Each has a model of its own, and each shape has some.
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
	aboutValues // of the first shape
)

// What the numbers of a shape's values are about, past aboutValues.
const (
	ofTypes = iota
	ofWholes
	ofBools
	ofTexts
	perShape
)

// models is what version 2 has learnt of a frame so far.
type models struct {
	slot     int // what the next numbers are about
	numbers  []*numbers
	letters  [32]*[256]chance // the bytes of new words, by the lower bits of the byte before
	known    dictionary
	referred uint64 // the number of the last identifier that stood as a text
}

func newModels() *models { return &models{} }

// after returns the model of a letter that follows another.
func (m *models) after(before byte) []chance {
	row := &m.letters[before%32]
	if *row == nil {
		*row = new([256]chance)
	}
	return (*row)[:]
}

func (m *models) model(about int) *numbers {
	for about >= len(m.numbers) {
		m.numbers = append(m.numbers, nil)
	}
	if m.numbers[about] == nil {
		m.numbers[about] = new(numbers)
	}
	return m.numbers[about]
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
