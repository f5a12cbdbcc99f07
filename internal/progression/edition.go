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

// Edit is what a practice changed of one step.
type Edit struct {
	Step   string
	Values map[Editable]int64 // in the unit of the name
	Place  string             // order key within the ladder; "" as shipped
	Cues   []string           // own words for the cues, by place; "" keeps ours
	Hidden bool
}

// Revise returns the shipped ladders with edits made. What lies outside the bounds of
// EditBound, or is about a step that there is not, is left out: the shipped value stands.
// A step that is open to everyone stays in sight, so that there is always a beginning.
func Revise(edits []Edit) Edition {
	byStep := map[string]Edit{}
	for _, e := range edits {
		byStep[e.Step] = e
	}
	e := Edition{}
	for _, l := range builtIn {
		steps := make([]Step, len(l.Steps))
		for i, s := range l.Steps {
			steps[i] = s.revised(byStep[s.ID])
		}
		sort.SliceStable(steps, func(i, j int) bool { return steps[i].place < steps[j].place })
		l.Steps = steps
		e.ladders = append(e.ladders, l)
	}
	e.version = versionOf(e.ladders)
	return e
}

func (s Step) revised(e Edit) Step {
	s.Start.Reps = append([]int(nil), s.Start.Reps...)
	s.Exit.Reps = append([]int(nil), s.Exit.Reps...)
	s.Entry = append([]Held(nil), s.Entry...)
	s.Cues = append([]string(nil), s.Cues...)
	shipped := s
	sets := len(s.Start.Reps)
	for _, f := range Editables() {
		v, said := e.Values[f]
		bound, has := EditBound(shipped, f)
		if !said || !has || v < bound.Min || v > bound.Max {
			continue
		}
		if f == EditSets {
			sets = int(v)
		} else if at, per := s.slot(f); at != nil {
			*at = int(v / per)
		}
	}
	if isPlace(e.Place) {
		s.place = e.Place
	}
	s.Start.Reps = descending(s.Start.Reps[0], sets)
	if len(s.Exit.Reps) > 0 {
		s.Exit.Reps = descending(s.Exit.Reps[0], sets)
	}
	for i, words := range e.Cues {
		if i < len(s.Cues) && words != "" {
			s.Cues[i] = ownWords + strings.ReplaceAll(words, cueBar, " ")
		}
	}
	s.Hidden = e.Hidden && s.CanHide()
	if s.check() != nil {
		return shipped
	}
	return s
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
func (s Step) Begin() Item {
	dose := s.Start
	dose.FirstSide = sides.WorksLeft
	return newItem(s, dose, nil)
}

// CanHide reports whether a practice may hide s: not where anyone can begin.
func (s Step) CanHide() bool { return len(s.Entry) > 0 }

// ownWords begins a cue that is a practice's own words and no message key.
const ownWords = "own:"

// cueBar stands between the own words of a step's cues.
const cueBar = "|"

// OwnWords returns the words of a cue that a practice wrote itself, and false for a
// message key.
func OwnWords(cue string) (string, bool) { return strings.CutPrefix(cue, ownWords) }

// OwnCues are the practice's own words of s by place, with bars between, "" where there
// are none: they go with a plan, so that every phone has them.
func (s Step) OwnCues() string {
	lines := make([]string, len(s.Cues))
	for i, cue := range s.Cues {
		lines[i], _ = strings.CutPrefix(cue, ownWords)
		if lines[i] == cue {
			lines[i] = ""
		}
	}
	return strings.TrimRight(strings.Join(lines, cueBar), cueBar)
}

// WithCues returns s with the own words that OwnCues wrote.
func (s Step) WithCues(own string) Step {
	return s.revised(Edit{Cues: strings.Split(own, cueBar)})
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
		for _, s := range l.Steps {
			if s.ID == id {
				return s, true
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
// them a digest of what the practice changed. Equal ladders have equal versions, whoever
// changed them in whatever order.
func (e Edition) Version() string {
	if e.version == "" {
		return shippedVersion
	}
	return e.version
}

// IsOwn reports whether a version is of ladders that a practice changed.
func IsOwn(version string) bool { return strings.Contains(version, "-") }

// shippedVersion is that of the ladders in the program, "1.2.1".
var shippedVersion = func() string {
	var parts []string
	for _, l := range builtIn {
		parts = append(parts, strconv.Itoa(l.Version))
	}
	return strings.Join(parts, ".")
}()

// versionOf digests what differs from the shipped ladders: BLAKE2s, RFC 7693, cut short.
func versionOf(ladders []Ladder) string {
	var b []byte
	for n, l := range ladders {
		for i, s := range l.Steps {
			shipped, _ := StepByID(s.ID)
			line := s.differences(shipped)
			if line != "" || builtIn[n].Steps[i].ID != s.ID {
				b = append(b, strconv.Itoa(i)+s.ID+line...)
			}
		}
	}
	if len(b) == 0 {
		return shippedVersion
	}
	sum := blake2s.Sum256(b)
	return shippedVersion + "-" + strconv.FormatUint(uint64(binary.BigEndian.Uint32(sum[:])), 36)
}

// differences writes what of s is not as shipped; its place is not part of it.
func (s Step) differences(shipped Step) string {
	var b strings.Builder
	for _, f := range Editables() {
		now, _ := s.Value(f)
		if then, _ := shipped.Value(f); now != then {
			b.WriteString(" " + string(f) + "=" + strconv.FormatInt(now, 10))
		}
	}
	if own := s.OwnCues(); own != "" {
		b.WriteString(" cues=" + own)
	}
	if s.Hidden {
		b.WriteString(" hidden")
	}
	return b.String()
}

// IsRevised reports whether a practice changed anything of s but its place.
func (s Step) IsRevised() bool {
	shipped, _ := StepByID(s.ID)
	return s.differences(shipped) != ""
}
