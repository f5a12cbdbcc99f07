package main

import (
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

const (
	busyTests    = 30
	busySessions = 160
	busySets     = 14 // of each session
	busyStep     = "straight_leg_hold"
)

// busy is an invented client with 30 tests and a year of sessions.
type busy struct {
	author *record.Author
	doc    *record.Doc
	test   record.ID // the latest
}

func newBusy(endMS int64) (*busy, error) {
	const device clock.Device = 0xb5e7_11aa
	b := &busy{author: record.NewAuthor(device, 0, [32]byte{}, clock.New(device, clock.Stamp{}))}
	b.doc = record.NewDoc(b.author.NextID())
	const yearMS = 365 * 24 * 60 * 60 * 1000
	atMS := endMS - yearMS
	client := sessions.Client{Name: "Bench B.", StatureMM: 1740, MassG: 72_000}
	if _, err := b.write(sessions.KindClient, client.Values(), atMS); err != nil {
		return nil, err
	}
	for i := range int64(busySessions) {
		if err := b.session(atMS+i*yearMS/busySessions, i); err != nil {
			return nil, err
		}
		if i*busyTests/busySessions != (i-1)*busyTests/busySessions || i == 0 {
			if err := b.take(atMS+i*yearMS/busySessions+3_600_000, i); err != nil {
				return nil, err
			}
		}
	}
	return b, nil
}

func (b *busy) write(kind string, values []record.FieldValue, atMS int64) (record.ID, error) {
	id, _, err := b.author.Create(b.doc, kind, values, atMS)
	return id, err
}

// take writes a test of both sides that gets a little longer from one to the next.
func (b *busy) take(atMS, i int64) (err error) {
	test := sessions.Test{Step: busyStep, StartedMS: atMS, First: sides.WorksLeft, RestMS: 180_000}
	if b.test, err = b.write(sessions.KindTest, test.Values(), atMS); err != nil {
		return err
	}
	for order, down := range []sides.Down{sides.DownLeft, sides.DownRight} {
		trial := sessions.Trial{
			Test: b.test.String(), Order: int64(order) + 1, Down: down, Working: down.Works(),
			HeldMS: 40_000 + 100*i + 6_000*int64(order) + i*7919%5_000, Clock: sessions.ClockMono,
			Stop: sessions.StopPosition, StartedMS: atMS + int64(order)*240_000,
		}
		if _, err := b.write(sessions.KindTrial, trial.Values(), trial.StartedMS); err != nil {
			return err
		}
	}
	return nil
}

func (b *busy) session(atMS, i int64) error {
	session := sessions.Session{StartedMS: atMS, FinishedMS: atMS + 2_700_000, Effort: 5 + i%3,
		Pain: 0, PainBefore: 0, PainMorning: 0}
	id, err := b.write(sessions.KindSession, session.Values(), atMS)
	if err != nil {
		return err
	}
	for n := range int64(busySets) {
		down := []sides.Down{sides.DownLeft, sides.DownRight}[n%2]
		set := sessions.Set{
			Session: id.String(), Step: busyStep, Down: down, Working: down.Works(),
			Number: n/2 + 1, Reps: 1, HoldMS: 15_000, HeldMS: 15_000 + i*31%900,
			StartedMS: atMS + n*90_000, Clock: sessions.ClockMono,
		}
		if _, err := b.write(sessions.KindSet, set.Values(), set.StartedMS); err != nil {
			return err
		}
	}
	return nil
}
