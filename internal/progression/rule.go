package progression

import (
	"strings"
	"time"

	"evenhold/internal/working"
)

// Fired is one rule that had a say: its message key, the numbers that made it
// fire (the placeholders of the message, unit last in the name), and where the
// rule comes from.
type Fired struct {
	Key     string
	Numbers map[string]float64
	Source  working.Source
}

// Sources of the rules. Rules without an entry in ruleSource are ours.
var (
	redFlags = working.Source{
		Title: "Red flags presented in current low back pain guidelines: a review",
		Where: "Eur Spine J 25(9):2788-2802", Year: 2016, DOI: "10.1007/s00586-016-4684-0",
		Status: working.Seen,
	}
	// The pain bands are remembered, sources disagree on them, and they were
	// made for tendons: a practice should look at them before leaning on them.
	painBands = working.Source{
		Where: "pain-monitoring model, Am J Sports Med 35(6):897-906", Year: 2007,
		DOI: "10.1177/0363546506298279", Status: working.Memory,
	}
	painChange = working.Source{
		Title: "Responsiveness of the numeric pain rating scale in patients with low back pain",
		Where: "Spine 30(11):1331-1334", Year: 2005, Status: working.Seen,
	}
	resistance = working.Source{
		Title: "Progression models in resistance training for healthy adults",
		Where: "Med Sci Sports Exerc 41(3):687-708", Year: 2009, Status: working.Seen,
	}
	byMemory   = working.Source{Status: working.Memory}
	byPractice = working.Source{Status: working.Practice}
	ours       = working.Source{Status: working.Estimate}
)

// sourceOf returns where a rule is from: ours, where nothing else is known.
func sourceOf(rule string) working.Source {
	switch rule {
	case "rule.red_flag_open":
		return redFlags
	case "rule.pain_over_5", "rule.pain_3_to_5", "rule.pain_0_to_2", "rule.pain_not_settled",
		"rule.pain_rising_weeks":
		return painBands
	case "rule.pain_rose":
		return painChange
	case "rule.days_per_week", "rule.load_up":
		return resistance
	case "rule.short_holds", "rule.more_reps":
		return byMemory
	case "rule.stopped_by_pain", "rule.test_stopped_by_pain", "rule.at_least",
		"rule.first.down_left", "rule.first.down_right", "rule.first.hand_left",
		"rule.first.hand_right", "rule.first_free.down_left", "rule.first_free.hand_right",
		"rule.retest_due":
		return byPractice
	}
	return ours
}

// fired makes a Fired of a rule and its numbers, given as name, value pairs.
func fired(name string, numbers ...number) Fired {
	f := Fired{Key: name}
	if !strings.HasPrefix(name, "bounds.") {
		f.Key = "rule." + name
	}
	f.Source = sourceOf(f.Key)
	for _, n := range numbers {
		if f.Numbers == nil {
			f.Numbers = map[string]float64{}
		}
		f.Numbers[n.name] = n.value
	}
	return f
}

type number struct {
	name  string
	value float64
}

func num[V int | int64 | float64](name string, v V) number { return number{name, float64(v)} }

// refused is the rule for a value that is not plausible.
func refused(err *OutOfBounds) Fired {
	return Fired{Key: err.Bound.Key, Numbers: err.Args(), Source: ours}
}

// Scale is an answer from 0 to 10 (effort or pain); the zero Scale is no answer.
type Scale struct {
	Known bool
	Value int
}

// Rated returns the answer v.
func Rated(v int) Scale { return Scale{Known: true, Value: v} }

// The pain bands during work, 0-10: up to painGoOn go on, up to painCare go on
// with care, above it stop. Pain-monitoring model, Am J Sports Med
// 2007;35(6):897-906, doi:10.1177/0363546506298279; from memory.
const (
	painGoOn = 2
	painCare = 5
)

// painStep is the change on the 0-10 scale that counts: Responsiveness of the
// numeric pain rating scale in patients with low back pain, Spine
// 2005;30(11):1331-1334.
const painStep = 2

// StopReason is why a hold ended.
type StopReason string

// The reasons. The empty reason is "not said".
const (
	StopPosition    StopReason = "position"
	StopGaveUp      StopReason = "gave_up"
	StopArmShoulder StopReason = "arm_shoulder"
	StopPain        StopReason = "pain"
	StopTesterError StopReason = "tester_error"
	StopLimit       StopReason = "limit"
)

// Hold is the latest tested hold of one working side. Tested false: none yet.
// AtLeast: the trunk could have held longer (stopped by arm, shoulder, pain or
// a set limit), so Held is a lower bound.
type Hold struct {
	Tested  bool
	Held    time.Duration
	AtLeast bool
	Stop    StopReason
}

// counts reports whether the trial says anything about the trunk.
func (h Hold) counts() bool { return h.Tested && h.Stop != StopTesterError }

// seconds is the whole seconds held; 0 for a trial that does not count, so that
// a side nobody has tested opens no gate.
func (h Hold) seconds() int {
	if !h.counts() {
		return 0
	}
	return int(h.Held / time.Second)
}
