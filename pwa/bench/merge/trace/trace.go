// Package trace invents years of one client's record, kept on two phones that meet a server now
// and then: sessions of timed holds and one-sided carries, notes, corrections, deletions, and
// edits that the two phones make without seeing each other. Everything in it is made up.
//
// It is what the merge is measured on, ours and the general libraries' alike. The package is
// pure: the same years and seed give the same lines. Times are milliseconds since 1970.
package trace

// The parts of a trace. The whole years come first, then one session on top of them, then
// thirty days in which the two phones do not meet.
const (
	PartYears   = "years"
	PartSession = "session"
	PartApart   = "apart"
)

// The two phones, and what a set of records is called.
const (
	PhoneA = "A" // the coach's
	PhoneB = "B" // the client's

	Sets, Sessions, Notes, Plan = "sets", "sessions", "notes", "plan"
)

// Line is one thing that happens: a commit on a phone, or the phone meeting the server.
type Line struct {
	Part   string `json:"part"`
	Phone  string `json:"phone"`
	IsSync bool   `json:"isSync,omitempty"`
	AtMS   int64  `json:"atMS,omitempty"` // of a commit
	Ops    []Op   `json:"ops,omitempty"`  // of a commit
}

// The verbs of an Op.
const (
	Add    = "add"    // Fields begin the record ID; in Plan it stands at place Index
	Set    = "set"    // Field of ID becomes Value
	Delete = "delete" // ID is no longer wanted
)

// Op is one step of a commit. Identifiers are the phone's letter and its running number.
type Op struct {
	Do     string  `json:"do"`
	In     string  `json:"in"` // Sets, Sessions, Notes or Plan
	ID     string  `json:"id"`
	Index  int64   `json:"index,omitempty"`
	Fields []Field `json:"fields,omitempty"`
	Field  string  `json:"field,omitempty"`
	Value  *Value  `json:"value,omitempty"`
}

// Field is a field's name and value.
type Field struct {
	Name  string `json:"name"`
	Value Value  `json:"value"`
}

// Value is a text or a whole number.
type Value struct {
	Text  *string `json:"text,omitempty"`
	Whole int64   `json:"whole,omitempty"` // if Text is nil
}

func text(name, v string) Field        { return Field{name, Value{Text: &v}} }
func whole(name string, v int64) Field { return Field{name, Value{Whole: v}} }

const (
	secondMS = 1000
	minuteMS = 60 * secondMS
	hourMS   = 60 * minuteMS
	dayMS    = 24 * hourMS
	startMS  = 1_704_067_200_000 // 2024-01-01 00:00 UTC
)

// Make returns the lines of so many years, then of the session and the thirty days after them.
func Make(years int64, seed uint32) []Line {
	m := newMaker(seed)
	for i := range int64(7) {
		m.planEdit(PhoneA, startMS+i*40*secondMS)
	}
	days := 365 * years
	for d := range days {
		m.day(d, m.yearsDay(d))
		m.meet()
	}
	m.sync(PhoneB)
	m.sync(PhoneA)
	m.sync(PhoneB)
	m.part = PartSession
	m.session(PhoneB, startMS+days*dayMS+17*hourMS, 14)
	m.sync(PhoneB)
	m.sync(PhoneA)
	m.part = PartApart
	for d := days + 1; d < days+31; d++ {
		m.day(d, m.apartDay(d-days))
	}
	return m.lines
}
