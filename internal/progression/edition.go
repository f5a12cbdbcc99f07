package progression

import (
	"encoding/binary"
	"sort"
	"strconv"
	"strings"

	"golang.org/x/crypto/blake2s"

	"evenhold/internal/sides"
)

// Edition is one state of the ladders: the shipped ones, with what a practice changed of
// them. The zero Edition is the shipped one.
type Edition struct {
	ladders []Ladder
	version string
}

// Edit is what a practice says of one step, by the names that it is stored under: numbers
// in the unit of the name, and words. What it does not say is as shipped.
type Edit interface {
	Number(name string) (int64, bool)
	Words(name string) string // "" for none
}

// Revise returns the shipped ladders with the edits made that of returns for a step; it
// returns nil for none. What lies outside the bounds of EditBound is left out: the shipped
// value stands. A step that is open to everyone stays in sight, so that there is always a
// beginning.
func Revise(of func(step string) Edit) Edition {
	e := Edition{}
	for _, l := range builtIn {
		l.Steps = append([]Step(nil), l.Steps...)
		for i := range l.Steps {
			if edit := of(l.Steps[i].ID); edit != nil {
				l.Steps[i].revise(edit)
			}
		}
		sort.SliceStable(l.Steps, func(i, j int) bool { return l.Steps[i].place < l.Steps[j].place })
		e.ladders = append(e.ladders, l)
	}
	e.version = shippedVersion
	if digest := digestOf(e.ladders); digest != shippedDigest {
		e.version += "-" + digest
	}
	return e
}

func (s *Step) revise(e Edit) {
	shipped := *s
	s.Entry = append([]Held(nil), s.Entry...)
	s.Start.Reps = append([]int(nil), s.Start.Reps...)
	s.Exit.Reps = append([]int(nil), s.Exit.Reps...)
	sets := len(s.Start.Reps)
	for i := range numbers {
		n := &numbers[i]
		v, said := e.Number(string(n.Name))
		if !said || CheckEdit(&shipped, n.Name, v) != nil {
			continue
		}
		if at := s.slot(n.Name); at != nil {
			*at = int(v / n.per())
		} else {
			sets = int(v) // the one that stands nowhere by itself
		}
	}
	s.Start.Reps = descending(s.Start.Reps[0], sets)
	if len(s.Exit.Reps) > 0 {
		s.Exit.Reps = descending(s.Exit.Reps[0], sets)
	}
	if place := e.Words(EditPlace); isPlace(place) {
		s.place = place
	}
	own := make([]string, len(s.Cues))
	for i := range own {
		own[i] = e.Words(editCues[i])
	}
	s.setCues(own)
	hidden, _ := e.Number(EditHidden)
	s.Hidden = hidden == 1 && s.CanHide()
	if s.check() != nil {
		*s = shipped
	}
}

// descending is a series of sets, each one repetition shorter, down to one.
func descending(first, sets int) []int {
	reps := make([]int, max(sets, 1))
	for i := range reps {
		reps[i] = max(first-i, 1)
	}
	return reps
}

// Begin is s at its starting dose, alike for both sides, the left one first.
func (s *Step) Begin() Item {
	dose := s.Start
	dose.FirstSide = sides.WorksLeft
	return newItem(*s, dose, nil)
}

// CanHide reports whether a practice may hide s: not where anyone can begin.
func (s *Step) CanHide() bool { return len(s.Entry) > 0 }

// ownWords begins a cue that is a practice's own words and no message key.
const ownWords = "own:"

// cueBar stands between the own words of a step's cues.
const cueBar = "|"

// OwnWords returns the words of a cue that a practice wrote itself, and false for a
// message key.
func OwnWords(cue string) (string, bool) { return strings.CutPrefix(cue, ownWords) }

// OwnCues are the practice's own words of s by place, with bars between, "" where there
// are none: they go with a plan, so that every phone has them.
func (s *Step) OwnCues() string {
	var all string
	for i := len(s.Cues) - 1; i >= 0; i-- {
		words, isOwn := OwnWords(s.Cues[i])
		if all != "" {
			all = cueBar + all
		}
		if isOwn {
			all = words + all
		}
	}
	return all
}

// WithCues returns s with the own words that OwnCues wrote.
func (s Step) WithCues(own string) Step {
	s.setCues(strings.Split(own, cueBar))
	return s
}

// setCues puts own words in the place of cues, where there are any.
func (s *Step) setCues(own []string) {
	s.Cues = append([]string(nil), s.Cues...)
	for i := range s.Cues {
		if i < len(own) && own[i] != "" {
			s.Cues[i] = ownWords + strings.ReplaceAll(own[i], cueBar, " ")
		}
	}
}

// Ladders returns the ladders of e in its order. Treat them as read-only.
func (e Edition) Ladders() []Ladder {
	if e.ladders == nil {
		return builtIn
	}
	return e.ladders
}

// Step finds a step of e, a hidden one too; false when there is none.
func (e Edition) Step(id string) (Step, bool) {
	for _, l := range e.Ladders() {
		for i := range l.Steps {
			if l.Steps[i].ID == id {
				return l.Steps[i], true
			}
		}
	}
	return Step{}, false
}

func (e Edition) ladder(f Family) Ladder {
	for _, l := range e.Ladders() {
		if l.Family == f {
			return l
		}
	}
	return Ladder{}
}

// first is the step of a family that a plan begins with; false when it is hidden.
func (e Edition) first(f Family) (Step, bool) {
	for _, s := range e.ladder(f).Steps {
		if s.CanBeFirst && !s.Hidden {
			return s, true
		}
	}
	return Step{}, false
}

// Version names the state of the ladders: the versions of the shipped ones, and behind
// them, after a hyphen, a digest where the practice changed them. Equal ladders have equal
// versions, whoever changed them in whatever order.
func (e Edition) Version() string {
	if e.version == "" {
		return shippedVersion
	}
	return e.version
}

// Those of the ladders in the program, "1.2.1" and so on.
var shippedVersion, shippedDigest = versionOf(builtIn), digestOf(builtIn)

func versionOf(ladders []Ladder) string {
	version := ""
	for i, l := range ladders {
		if i > 0 {
			version += "."
		}
		version += strconv.Itoa(l.Version)
	}
	return version
}

// digestOf digests what a practice can change: BLAKE2s, RFC 7693, cut short.
func digestOf(ladders []Ladder) string {
	var b []byte
	for _, l := range ladders {
		for i := range l.Steps {
			s := &l.Steps[i]
			b = append(b, s.ID...)
			for n := range numbers {
				v, _ := s.Shown(numbers[n].Name)
				b = binary.AppendVarint(b, int64(v))
			}
			b = append(b, s.OwnCues()...)
			if s.Hidden {
				b = append(b, '-')
			}
			b = append(b, 0)
		}
	}
	sum := blake2s.Sum256(b)
	return strconv.FormatUint(uint64(binary.BigEndian.Uint32(sum[:])), 36)
}
