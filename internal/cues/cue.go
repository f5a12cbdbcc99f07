package cues

import (
	"cmp"
	"slices"
	"sort"
	"time"

	"evenhold/internal/progression"
)

// Channel is how a cue reaches a person.
type Channel string

// The channels. A Show cue carries the words of every Say cue to the screen.
const (
	Beep  Channel = "beep"
	Buzz  Channel = "buzz"
	Flash Channel = "flash"
	Say   Channel = "say"
	Show  Channel = "show"
)

// Tone tells beeps and buzzes apart.
type Tone string

// The tones.
const (
	Start Tone = "start"
	Tick  Tone = "tick" // one of the last three seconds
	Half  Tone = "half"
	End   Tone = "end"
)

// Cue is one thing to do at one moment. Key and Args are a message and its
// numbers, for Say and Show; Tone is for the others.
type Cue struct {
	AtMS    int64              `json:"atMS"`
	Channel Channel            `json:"channel"`
	Tone    Tone               `json:"tone,omitempty"`
	Key     string             `json:"key,omitempty"`
	Args    map[string]float64 `json:"args,omitempty"`
}

// Options say which channels are wanted besides Show, which is always given.
type Options struct {
	Beep, Buzz, Flash, Voice bool
}

const (
	// flashGapMS keeps flashes to at most three in any second: WCAG 2.2, success
	// criterion 2.3.1. Four flashes span three gaps, which must exceed 1 s.
	flashGapMS = 400
	// shortSay and sideSay are the time set aside for a saying: at least 2 s, and
	// 3 s for one that names hand or down side and working side.
	shortSay = 2 * time.Second
	sideSay  = 3 * time.Second
)

// The order in which sayings win where there is no room for both.
const (
	bySide = iota
	byEvent
	byTechnique
)

// saying is a candidate for Say and Show.
type saying struct {
	at, span time.Duration
	rank     int
	key      string
	args     map[string]float64
}

// sheet collects cues in any order.
type sheet struct {
	cues    []Cue
	sayings []saying
}

func (s *sheet) sign(at time.Duration, c Channel, tone Tone) {
	s.cues = append(s.cues, Cue{AtMS: at.Milliseconds(), Channel: c, Tone: tone})
}

// signal is a beep, a buzz and a flash together.
func (s *sheet) signal(at time.Duration, tone Tone) {
	s.sign(at, Beep, tone)
	s.sign(at, Buzz, tone)
	s.sign(at, Flash, tone)
}

func (s *sheet) show(at time.Duration, key string, args map[string]float64) {
	s.cues = append(s.cues, Cue{AtMS: at.Milliseconds(), Channel: Show, Key: key, Args: args})
}

func (s *sheet) say(at, span time.Duration, rank int, key string, args map[string]float64) {
	s.sayings = append(s.sayings, saying{at, span, rank, key, args})
}

func (s *sheet) saySide(at time.Duration, prefix string, p progression.Placement) {
	if p.Key() != "" {
		s.say(at, sideSay, bySide, prefix+p.Key(), nil)
	}
}

// window settles the sheet as a whole, so that neighbouring windows fit, and
// returns the cues from from up to, but not including, from plus horizon.
func (s *sheet) window(from, horizon time.Duration, o Options) []Cue {
	for _, y := range spaced(s.sayings) {
		s.cues = append(s.cues, Cue{AtMS: y.at.Milliseconds(), Channel: Say, Key: y.key, Args: y.args})
		s.show(y.at, y.key, y.args)
	}
	sort.SliceStable(s.cues, func(i, j int) bool {
		a, b := s.cues[i], s.cues[j]
		return cmp.Or(cmp.Compare(a.AtMS, b.AtMS), cmp.Compare(rank(a.Channel), rank(b.Channel))) < 0
	})
	wanted := map[Channel]bool{Beep: o.Beep, Buzz: o.Buzz, Flash: o.Flash, Say: o.Voice, Show: true}
	fromMS, horizonMS := from.Milliseconds(), horizon.Milliseconds()
	lastFlashMS := int64(-flashGapMS)
	var out []Cue
	for _, c := range s.cues {
		if c.Channel == Flash {
			if c.AtMS-lastFlashMS < flashGapMS {
				continue
			}
			lastFlashMS = c.AtMS
		}
		if wanted[c.Channel] && c.AtMS >= fromMS && c.AtMS-fromMS < horizonMS {
			out = append(out, c)
		}
	}
	return out
}

// rank orders what happens at one moment: first what is heard or felt at once.
func rank(c Channel) int { return slices.Index([]Channel{Beep, Buzz, Flash, Say, Show}, c) }

// spaced keeps the sayings that leave each other room, the more important first.
func spaced(all []saying) []saying {
	sort.SliceStable(all, func(i, j int) bool { return all[i].rank < all[j].rank })
	var kept []saying // Invariant: in order of at, none before the end of the one before.
	for _, y := range all {
		i := sort.Search(len(kept), func(i int) bool { return kept[i].at >= y.at })
		if i > 0 && kept[i-1].at+kept[i-1].span > y.at || i < len(kept) && y.at+y.span > kept[i].at {
			continue
		}
		kept = append(kept, saying{})
		copy(kept[i+1:], kept[i:])
		kept[i] = y
	}
	return kept
}
