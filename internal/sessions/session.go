package sessions

import (
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// Session is one visit to the exercises of a plan.
type Session struct {
	ID         record.ID
	StartedMS  int64
	TZMin      int64
	Plan       string
	Ladder     string // versions of the ladders that its items were suggested by
	FinishedMS int64  // 0 while it is open
	Effort     int64  // CR10, 0 to 10; -1 if not said
	Pain       int64  // 0 to 10; -1 if not said
	// PainBefore is pain as the session begins, PainMorning the worst on the morning
	// after the session before this one: 0 to 10; -1 if not said.
	PainBefore, PainMorning int64
	PainPlace               string
	Sets                    []Set
	Also                    []record.ID // sessions told with this one: their sets are joined
}

// Set is one set of an exercise on one side, written once with its facts.
type Set struct {
	_          [0]func()
	ID         record.ID
	Session    string
	Item       string
	Asked      string // revision of the item that was on the phone
	Step       string
	Down       sides.Down // of a hold
	Hand       sides.Hand // of a carry or lift
	Working    sides.Working
	Number     int64
	Reps       int64
	HoldMS     int64 // asked for each repetition
	HeldMS     int64 // held in all
	LoadG      int64
	DistanceMM int64
	TimeMS     int64
	StartedMS  int64
	Clock      string
	Stop       string // "" when done as planned
}

// LastPain returns the pain said last of s: at worst during it, else before it.
func (s Session) LastPain() (int64, bool) {
	if s.Pain >= 0 {
		return s.Pain, true
	}
	return s.PainBefore, s.PainBefore >= 0
}

// Values returns an opened session as the fields of a new record.
func (s Session) Values() []record.FieldValue {
	var f fields
	f.count("startedMS", s.StartedMS)
	f.count("tzMin", s.TZMin)
	f.text("plan", s.Plan)
	f.text(FieldLadder, s.Ladder)
	return f
}

// Values returns the set as the fields of a new record.
func (s Set) Values() []record.FieldValue {
	var f fields
	f.text("session", s.Session)
	f.text("item", s.Item)
	f.text("asked", s.Asked)
	f.text("step", s.Step)
	f.text("down", string(s.Down))
	f.text("hand", string(s.Hand))
	f.text("working", string(s.Working))
	f.number("number", s.Number)
	f.count("reps", s.Reps)
	f.number("holdMS", s.HoldMS)
	f.number("heldMS", s.HeldMS)
	f.number("loadG", s.LoadG)
	f.number("distanceMM", s.DistanceMM)
	f.number("timeMS", s.TimeMS)
	f.count("startedMS", s.StartedMS)
	f.text("clock", s.Clock)
	f.text("stop", s.Stop)
	return f
}

// Sessions returns the sessions of a client document with their sets, oldest
// first, voided ones left out. An effort that a person joined counts once.
func Sessions(d *record.Doc) []Session {
	sets := map[string][]Set{}
	for _, r := range live(d, KindSet) {
		s := setOf(r)
		sets[s.Session] = append(sets[s.Session], s)
	}
	var all []Session
	for _, r := range live(d, KindSession) {
		s := Session{
			ID: r.ID(), StartedMS: number(r, "startedMS"), TZMin: number(r, "tzMin"),
			Plan: text(r, "plan"), Ladder: text(r, FieldLadder), FinishedMS: number(r, "finishedMS"),
			Effort: said(r, "effort"), Pain: said(r, "pain"), PainPlace: text(r, "painPlace"),
			PainBefore: said(r, FieldPainBefore), PainMorning: said(r, FieldPainMorning),
			Sets: sets[r.ID().String()],
		}
		all = append(all, s)
	}
	return joinedOf(d).once(all)
}

func setOf(r *record.Record) Set {
	return Set{
		ID: r.ID(), Session: text(r, "session"), Item: text(r, "item"), Asked: text(r, "asked"),
		Step: text(r, "step"), Down: sides.Down(text(r, "down")), Hand: sides.Hand(text(r, "hand")),
		Working: sides.Working(text(r, "working")), Number: number(r, "number"),
		Reps: number(r, "reps"), HoldMS: number(r, "holdMS"), HeldMS: number(r, "heldMS"),
		LoadG: number(r, "loadG"), DistanceMM: number(r, "distanceMM"),
		TimeMS: number(r, "timeMS"), StartedMS: number(r, "startedMS"),
		Clock: text(r, "clock"), Stop: text(r, "stop"),
	}
}

// said returns a number of which zero is a value, and -1 if it was not said.
func said(r *record.Record, field string) int64 {
	n, ok := r.Int(field)
	if !ok {
		return -1
	}
	return n
}
