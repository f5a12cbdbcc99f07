package demo

import (
	"testing"
	"time"

	"evenhold/internal/progression"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/working"
	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// TestTell_Holds puts the invented holds beside measured people: each straight-leg hold that the
// trunk ended lies within one standard deviation of a published sample of the person's sex or of
// men and women together: "Core stability measures as risk factors for lower extremity injury in
// athletes", Med Sci Sports Exerc 2004;36(6):926-934; J Sport Rehabil 2003;12(3):199; Normative
// values for core endurance tests, St Catherine University, 2014. The rest between the sides is
// the five minutes of the side-hold protocol (common practice, no source).
func TestTell_Holds(t *testing.T) {
	shoulder := 0
	for name, d := range told(t) {
		c, _ := sessions.ClientIn(d)
		for _, test := range sessions.Tests(d) {
			if len(test.Trials) != 2 {
				t.Fatalf("%s: %d trials", name, len(test.Trials))
			}
			first, second := test.Trials[0], test.Trials[1]
			if first.Working != test.First || second.Working == first.Working {
				t.Errorf("%s: %s first, held %s and %s", name, test.First, first.Working,
					second.Working)
			}
			rest := second.StartedMS - first.StartedMS - first.HeldMS
			if rest < 5*60*1000 || rest > 7*60*1000 {
				t.Errorf("%s: rested %d ms", name, rest)
			}
			for _, trial := range test.Trials {
				if trial.Down.Works() != trial.Working {
					t.Errorf("%s: %s down, %s works", name, trial.Down, trial.Working)
				}
				if trial.Stop == sessions.StopArmShoulder {
					shoulder++
				}
				isTrunk := test.Step == "straight_leg_hold" && trial.IsValue()
				if isTrunk && !isMeasured(trial, c.Sex) {
					t.Errorf("%s: %d ms on the %s is like no sample", name, trial.HeldMS,
						trial.Working)
				}
			}
		}
	}
	if shoulder != 1 {
		t.Errorf("%d holds stopped by the shoulder", shoulder)
	}
}

// TestTell_Trunk: the same of the holds of back and front.
func TestTell_Trunk(t *testing.T) {
	holds := 0
	for name, d := range told(t) {
		c, _ := sessions.ClientIn(d)
		for _, hold := range sessions.Trunks(d) {
			holds++
			if !isNear(hold.HeldMS, reference.Samples(reference.Test(hold.What), "", c.Sex)) {
				t.Errorf("%s: %d ms of the %s is like no sample", name, hold.HeldMS, hold.What)
			}
		}
	}
	if holds != 2 {
		t.Errorf("%d holds of back and front", holds)
	}
}

func isMeasured(trial sessions.Trial, sex string) bool {
	return isNear(trial.HeldMS, reference.Samples(reference.SideBridge, trial.Working, sex))
}

func isNear(heldMS int64, samples []reference.Sample) bool {
	held := time.Duration(heldMS) * time.Millisecond
	for _, s := range samples {
		isNear := held > s.Mean-s.SD && held < s.Mean+s.SD
		if s.Source.Status == working.Seen && isNear {
			return true
		}
	}
	return false
}

// TestTell_Sets: a weight in the right hand works the left side of the trunk, and lying on the
// right elbow works the right side (common practice, no source); no set is there twice but one
// that two phones logged, which is asked about; each refers to the exercise as it stood when it
// was done, and none of the carries weighs more than 20 % of body mass (the upper end of the
// design's own range, no source).
func TestTell_Sets(t *testing.T) {
	other := map[sides.Hand]sides.Working{"left": "right", "right": "left"}
	twice, asked := 0, 0
	for name, d := range told(t) {
		c, _ := sessions.ClientIn(d)
		asked += len(sessions.Proposals(d))
		type place struct {
			session, item string
			working       sides.Working
			number        int64
		}
		seen := map[place]bool{}
		for _, s := range sessions.Sessions(d) {
			for _, set := range s.Sets {
				at := place{set.Session, set.Item, set.Working, set.Number}
				if seen[at] {
					twice++
				}
				seen[at] = true
				isSound := set.Hand == "" && string(set.Down) == string(set.Working)
				if !isHold(set.Step) {
					isSound = set.Down == "" && set.Working != "" && other[set.Hand] == set.Working
				}
				if !isSound {
					t.Errorf("%s: %s, down %q, hand %q, works %q", name, set.Step, set.Down,
						set.Hand, set.Working)
				}
				if set.Step == "suitcase_carry" && set.LoadG*5 > c.MassG {
					t.Errorf("%s: carried %d g at %d g", name, set.LoadG, c.MassG)
				}
				if !refersToItem(d, set) {
					t.Errorf("%s: set %s refers to no revision of its exercise", name, set.ID)
				}
			}
		}
	}
	if twice != 1 || asked != 1 {
		t.Errorf("%d sets are there twice and %d are asked about", twice, asked)
	}
}

func refersToItem(d *record.Doc, set sessions.Set) bool {
	asked, err := clock.ParseStamp(set.Asked)
	id, idErr := record.ParseID(set.Item)
	item, found := d.Record(id)
	if err != nil || idErr != nil || !found || asked.WallMS > set.StartedMS {
		return false
	}
	for field := range item.Fields() {
		for _, op := range item.Register(field).History() {
			if op.Stamp == asked {
				return true
			}
		}
	}
	return false
}

// TestTell_Sessions: two or three sessions a week ("Progression models in resistance training for
// healthy adults", Med Sci Sports Exerc 2009;41(3):687-708: novices 2-3 days a week) by day, each
// finished, with plausible answers.
func TestTell_Sessions(t *testing.T) {
	longest := int64(0)
	for name, d := range told(t) {
		all := sessions.Sessions(d)
		if len(all) == 0 {
			continue
		}
		days := daysAgo(all[0].StartedMS) - daysAgo(all[len(all)-1].StartedMS)
		longest = max(longest, days)
		if perWeek := 7 * float64(len(all)-1) / float64(days); perWeek < 1.8 || perWeek > 3.2 {
			t.Errorf("%s: %.1f sessions a week", name, perWeek)
		}
		for _, s := range all {
			hour := time.UnixMilli(s.StartedMS).UTC().Add(tzMin * time.Minute).Hour()
			length := time.Duration(s.FinishedMS-s.StartedMS) * time.Millisecond
			if hour < 6 || hour > 21 || length < 5*time.Minute || length > time.Hour {
				t.Errorf("%s: a session at %d o'clock, %v long", name, hour, length)
			}
			if s.Effort < 3 || s.Effort > 7 || s.Pain < 0 || s.Pain > 2 && name != "Ilka B." {
				t.Errorf("%s: effort %d, pain %d", name, s.Effort, s.Pain)
			}
		}
	}
	if longest < 75 {
		t.Errorf("the longest history has %d days", longest)
	}
}

// TestTell_Bounds: everything entered is within the bounds of entry.
func TestTell_Bounds(t *testing.T) {
	for name, d := range told(t) {
		c, _ := sessions.ClientIn(d)
		if c.BirthYear != 0 {
			if err := progression.CheckBirthYear(c.BirthYear, 2026); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		if c.MassG != 0 && progression.Check(progression.MassG, c.MassG) != nil ||
			c.StatureMM != 0 && progression.Check(progression.StatureMM, c.StatureMM) != nil {
			t.Errorf("%s: %d g, %d mm", name, c.MassG, c.StatureMM)
		}
		plan, _ := sessions.CurrentPlan(d)
		for _, item := range plan.Items {
			if _, known := progression.StepByID(item.Step); !known {
				t.Errorf("%s: step %q", name, item.Step)
			}
		}
	}
}

// TestTell_Whenever tells the story at the edges of a day and far off: nothing lies in the future
// or on the day itself, every phone's stamps run forward, and no two times share a record.
func TestTell_Whenever(t *testing.T) {
	records := map[record.ID]bool{}
	for _, now := range []time.Time{
		time.Date(2026, 5, 13, 22, 59, 59, 0, time.UTC), // just before local midnight
		time.Date(2026, 5, 13, 23, 0, 0, 0, time.UTC),   // local midnight
		time.Date(2031, 3, 1, 12, 0, 0, 0, time.UTC),
	} {
		s, err := tell(now.UnixMilli())
		if err != nil {
			t.Fatal(now, err)
		}
		phones := []*phone{s.coach}
		for _, c := range s.clients {
			if records[c.doc.ID()] {
				t.Errorf("%v: record %s was there before", now, c.doc.ID())
			}
			records[c.doc.ID()] = true
			if c.phone != nil {
				phones = append(phones, c.phone)
			}
		}
		for _, p := range phones {
			var last clock.Stamp
			for _, op := range p.made {
				if op.Stamp.Compare(last) <= 0 || op.Stamp.WallMS >= s.midnightMS {
					t.Fatalf("%v: %s after %s, midnight %d", now, op.Stamp, last, s.midnightMS)
				}
				last = op.Stamp
			}
		}
	}
}

// TestTell_Ladders: the plans, sessions and decisions of the example say that they were made
// by its own ladders, so that no screen tells of a change since.
func TestTell_Ladders(t *testing.T) {
	version, items := settings().Edition.Version(), 0
	if version == (progression.Edition{}).Version() {
		t.Fatal("the example changes nothing of the ladders")
	}
	for name, d := range told(t) {
		for _, item := range sessions.Items(d) {
			items++
			if item.Ladder != version {
				t.Errorf("%s: an item of %s by %q, want %q", name, item.Step, item.Ladder, version)
			}
		}
		for _, s := range sessions.Sessions(d) {
			if s.Ladder != version {
				t.Errorf("%s: a session by %q, want %q", name, s.Ladder, version)
			}
		}
	}
	if items == 0 {
		t.Error("the example has no plan")
	}
}
