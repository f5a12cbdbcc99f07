package demo

import (
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// moment is so many days before today and minutes after midnight.
type moment struct{ day, minute int }

type screenDay struct {
	moment
	yes string // the question answered yes; "" for none
}

// trunkDay is a hold of the back or front.
type trunkDay struct {
	moment
	what string
	hold hold
}

type testDay struct {
	moment
	step        string
	first       sides.Working
	left, right hold // by working side, which is the side that faces down
}

// planDay is when the suggestion after the latest test is accepted; reason says why it was
// changed, and is empty when it was not.
type planDay struct {
	moment
	moreReps int64  // in each set of the holds than suggested
	carryG   int64  // of the carry; 0 as suggested
	without  string // step left out
	reason   string
}

// training is a run of sessions from day first to day last, gaps days apart in turn.
type training struct {
	first, last int
	gaps        []int
	minute      int // after midnight, give or take
	effort      int64
	place       string    // where it hurts, if it does
	lately      []feeling // of the last sessions, oldest first; the others by chance
}

// awayDay is a day on which the client's phone has no connection, from leaves to returns.
type awayDay struct {
	leaves, coachAt, clientAt, returns moment
	coachG, clientG                    int64
	felt                               feeling
}

// person is one client and what becomes of them.
type person struct {
	about    sessions.Client
	hasPhone bool
	isShown  bool // the client's link opens as this one
	added    moment
	screens  []screenDay
	tests    []testDay
	trunks   []trunkDay
	plans    []planDay
	training training
	beside   moment // when the coach writes a set of that day down too; zero for never
	away     *awayDay
}

// hold is one side's result: whole seconds, and why it ended.
type hold struct {
	seconds int64
	stop    string
}

// feeling is what is said at the end of a session.
type feeling struct {
	effort, pain int64
	place        string // of the pain
}
