package planning_test

import (
	"math"
	"testing"

	"evenhold/internal/loading"
	"evenhold/internal/planning"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// TestWeeks is worked by hand: two sessions of 60 and 40 minutes at effort 6 are loads of
// 360 and 240 (J Strength Cond Res 2001;15(1):109-115), one of 300 the same week. Daily
// loads 360, 0, 240, 0, 300, 0, 0 give a monotony of 0.7837 and a strain of 705.34 with
// n − 1 (Med Sci Sports Exerc 1998;30(7):1164-1168). A suitcase carry of 20 kg at a
// stature of 1.75 m asks 54.1 N·m: for 30 s 1623 N·m·s, and 30 s of it in the right hand
// is work of the left side.
func TestWeeks(t *testing.T) {
	author := record.NewAuthor(7, 0, [32]byte{}, clock.New(7, clock.Stamp{}))
	d := record.NewDoc(author.NextID())
	wallMS := int64(1_000)
	create := func(kind string, values []record.FieldValue) record.ID {
		t.Helper()
		wallMS++
		id, _, err := author.Create(d, kind, values, wallMS)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	create(sessions.KindClient, sessions.Client{Name: "A", MassG: 70_000, StatureMM: 1750}.Values())
	const dayMS = 86_400_000
	session := func(day, minutes, effort int64) record.ID {
		values := sessions.Session{StartedMS: day * dayMS}.Values()
		values = append(values,
			record.FieldValue{Field: "finishedMS", Value: record.Int(day*dayMS + minutes*60_000)})
		if effort >= 0 {
			values = append(values, record.FieldValue{Field: "effort", Value: record.Int(effort)})
		}
		return create(sessions.KindSession, values)
	}
	first := session(100, 60, 6)
	session(102, 40, 6)
	session(104, 60, 5)
	session(105, 30, -1)
	create(sessions.KindSet, sessions.Set{Session: first.String(), Step: "suitcase_carry",
		Hand: sides.HandRight, Working: sides.WorksLeft, LoadG: 20_000, TimeMS: 30_000}.Values())

	weeks := planning.Weeks(d, 106, 2)
	w := weeks[0]
	if w.Sessions != 3 || w.Unrated != 1 || w.Load.Total != 900 || w.FirstDay != 100 {
		t.Errorf("week %+v", w)
	}
	if math.Abs(w.Load.Monotony-.7837) > 5e-5 || math.Abs(w.Load.Strain-705.34) > .01 {
		t.Errorf("monotony %v, strain %v", w.Load.Monotony, w.Load.Strain)
	}
	if math.Abs(w.Side.LeftNMS-1623) > 2 || w.Side.RightNMS != 0 || w.Side.LeftShare != 1 {
		t.Errorf("work %+v", w.Side)
	}
	if before := weeks[1]; before.Load.Defined || before.Side.Shared || before.Load.Total != 0 {
		t.Errorf("an empty week is %+v", before)
	}
}

// TestEfforts: a hold that gave way is a value, one that a shoulder ended a bound, a
// tester's error says nothing; the repetition that was given up counts as begun; lifts
// are left out; and effort said after a painful session is not read as fatigue.
func TestEfforts(t *testing.T) {
	author := record.NewAuthor(7, 0, [32]byte{}, clock.New(7, clock.Stamp{}))
	d := record.NewDoc(author.NextID())
	wallMS := int64(1_000)
	create := func(kind string, values []record.FieldValue) record.ID {
		t.Helper()
		wallMS++
		id, _, err := author.Create(d, kind, values, wallMS)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	session := func(effort, pain int64) string {
		return create(sessions.KindSession, append(sessions.Session{StartedMS: wallMS}.Values(),
			record.FieldValue{Field: "effort", Value: record.Int(effort)},
			record.FieldValue{Field: "pain", Value: record.Int(pain)})).String()
	}
	set := func(s sessions.Set) { create(sessions.KindSet, s.Values()) }
	calm, sore := session(5, 1), session(8, 4)
	hold := sessions.Set{Session: calm, Step: "straight_leg_hold", Down: sides.DownLeft,
		Working: sides.WorksLeft, Reps: 5, HoldMS: 10_000, HeldMS: 50_000}
	set(hold)
	failed := hold
	failed.Reps, failed.HeldMS, failed.Stop = 2, 24_000, sessions.StopGaveUp
	failed.Working, failed.Down = sides.WorksRight, sides.DownRight
	set(failed)
	hurt := hold
	hurt.Session = sore
	set(hurt)
	set(sessions.Set{Session: calm, Step: "split_squat", Hand: sides.HandLeft,
		Working: sides.WorksRight, Reps: 6, LoadG: 5_000, TimeMS: 40_000})

	set(sessions.Set{Session: calm, Step: "suitcase_carry", Hand: sides.HandRight,
		Working: sides.WorksLeft, Reps: 1, LoadG: 5_000, TimeMS: 30_000})

	all := planning.Efforts(d)
	if len(all) != 4 {
		t.Fatalf("%d efforts, want 4: %+v", len(all), all)
	}
	if carry := all[2]; carry.Setup.LoadG != 5_000 || carry.Exertion != 0 {
		t.Errorf("the session's effort was read as that of a light carry: %+v", carry)
	}
	if all[0].End != loading.AtLeast || all[0].Reps != 5 || all[0].Exertion != 5 {
		t.Errorf("a series done as planned is %+v", all[0])
	}
	if all[1].End != loading.GaveWay || all[1].Reps != 3 || all[1].Held.Seconds() != 8 ||
		all[1].Exertion != 0 {
		t.Errorf("a series given up in the third hold is %+v", all[1])
	}
	if all[3].Exertion != 0 {
		t.Errorf("effort 8 of a session that hurt 4 of 10 was read as fatigue: %+v", all[3])
	}
}
