package progression

// Change says how a side's test moved since the one before, judged against the
// test's own noise; the empty Change is "within noise, or cannot tell".
type Change string

// The changes beyond noise.
const (
	Better Change = "better"
	Worse  Change = "worse"
)

// Done is one finished session of the item that is judged. Day counts whole days
// from any fixed day. Asked and Kept are repetitions (or carries) of both sides
// together; RepsAbove is how many more could have been done, 0 if not said.
// Before, Pain and Morning are pain before, at worst during, and the next
// morning. SameDose is false for a session at another dose than the present one.
type Done struct {
	Day           int
	Asked, Kept   int
	RepsAbove     int
	Effort        Scale
	Before        Scale
	Pain          Scale
	Morning       Scale
	StoppedByPain bool
	SameDose      bool
}

// Evidence is what a decision on one item of a plan is taken from. Sessions are
// oldest first. The holds are the latest test, by working side, in Posture;
// DaysSinceTest below 0 means never.
type Evidence struct {
	Item                    Item
	Sessions                []Done
	LeftHold, RightHold     Hold
	Posture                 Posture
	LeftChange, RightChange Change
	DaysSinceTest           int
	RedFlagOpen             bool
	ShoulderSore            bool
	MassG                   int64
	Implements              []int64
	Edition                 Edition
}

// vote is a rule that fired and what it asks for.
type vote struct {
	verdict Verdict
	rule    Fired
}

const (
	effortVeryHard = 9 // near the top of the 0-10 effort scale (ours)
	retestEveryDay = 28
	// retestSoonest: retest after a week or more (common practice, no source).
	retestSoonest = 7
	daysInWeek    = 7
)

func (e Evidence) check() *OutOfBounds {
	errs := []error{checkHold(e.LeftHold.Held), checkHold(e.RightHold.Held),
		checkImplements(e.Implements)}
	if e.MassG != 0 {
		errs = append(errs, Check(MassG, e.MassG))
	}
	for _, d := range []Dose{e.Item.WorksLeft, e.Item.WorksRight} {
		errs = append(errs, Check(LoadG, d.LoadG), Check(DistanceMM, int64(d.DistanceM)*1000),
			Check(TimeMS, int64(d.TimeS)*1000))
		for _, n := range d.Reps {
			errs = append(errs, Check(Reps, int64(n)))
		}
	}
	for _, s := range e.Sessions {
		if s.Effort.Known {
			errs = append(errs, Check(Effort, int64(s.Effort.Value)))
		}
		for _, p := range []Scale{s.Before, s.Pain, s.Morning} {
			if p.Known {
				errs = append(errs, Check(Pain, int64(p.Value)))
			}
		}
	}
	return firstOutOfBounds(errs)
}

func (e Evidence) newest() (Done, bool) {
	if len(e.Sessions) == 0 {
		return Done{}, false
	}
	return e.Sessions[len(e.Sessions)-1], true
}

// painVotes applies the pain rules to the newest session and to the weeks.
func (e Evidence) painVotes() []vote {
	newest, ok := e.newest()
	if !ok {
		return nil
	}
	var votes []vote
	pain := num("pain", newest.Pain.Value)
	switch {
	case !newest.Pain.Known:
		votes = append(votes, vote{Stay, fired("pain_unknown")})
	case newest.Pain.Value > painCare:
		votes = append(votes, vote{Refer, fired("pain_over_5", pain, num("max", painCare))})
	case newest.Pain.Value > painGoOn:
		votes = append(votes, vote{Stay, fired("pain_3_to_5", pain)})
	}
	if newest.StoppedByPain {
		votes = append(votes, vote{Ease, fired("stopped_by_pain")})
	}
	before, morning := newest.Before, newest.Morning
	if before.Known && morning.Known && morning.Value-before.Value >= painStep {
		votes = append(votes, vote{Ease, fired("pain_not_settled",
			num("before", before.Value), num("morning", morning.Value))})
	}
	return append(votes, e.weekVotes(newest.Day)...)
}

// weekVotes compares the worst pain of the last three weeks, counted back from
// the newest session.
func (e Evidence) weekVotes(today int) []vote {
	var worst [3]Scale
	for _, s := range e.Sessions {
		week := (today - s.Day) / daysInWeek
		if !s.Pain.Known || s.Day > today || week >= len(worst) {
			continue
		}
		if !worst[week].Known || s.Pain.Value > worst[week].Value {
			worst[week] = s.Pain
		}
	}
	now, last, first := worst[0], worst[1], worst[2]
	if !now.Known || !last.Known {
		return nil
	}
	to := num("to", now.Value)
	if first.Known && now.Value > last.Value && last.Value > first.Value &&
		now.Value-first.Value >= painStep {
		return []vote{{Refer, fired("pain_rising_weeks", num("from", first.Value), to)}}
	}
	if now.Value-last.Value >= painStep {
		return []vote{{Ease, fired("pain_rose", num("from", last.Value), to)}}
	}
	return nil
}

// workVotes judges what was done of what was asked, and how hard it was.
func (e Evidence) workVotes(exit Exit) []vote {
	newest, ok := e.newest()
	if !ok {
		return []vote{{Stay, fired("no_session")}}
	}
	var previous Done
	if n := len(e.Sessions); n > 1 && e.Sessions[n-2].SameDose {
		previous = e.Sessions[n-2]
	}
	var votes []vote
	if newest.SameDose && newest.Kept < newest.Asked {
		numbers := []number{num("kept", newest.Kept), num("asked", newest.Asked)}
		if previous.Kept < previous.Asked {
			votes = append(votes, vote{Ease, fired("reps_missed_twice", numbers...)})
		} else {
			votes = append(votes, vote{Stay, fired("reps_missed", numbers...)})
		}
	}
	effort := num("effort", newest.Effort.Value)
	switch {
	case !newest.Effort.Known:
		votes = append(votes, vote{Stay, fired("effort_missing")})
	case newest.Effort.Value >= effortVeryHard && previous.Effort.Value >= effortVeryHard:
		votes = append(votes, vote{Ease, fired("effort_very_hard", effort)})
	case newest.Effort.Value > exit.EffortMax:
		votes = append(votes, vote{Stay, fired("effort_high", effort, num("max", exit.EffortMax))})
	}
	return votes
}

// testVotes judges the age and the outcome of the latest test.
func (e Evidence) testVotes() []vote {
	var votes []vote
	switch {
	case e.DaysSinceTest < 0 || !e.LeftHold.counts() || !e.RightHold.counts():
		votes = append(votes, vote{Retest, fired("test_missing")})
	case e.DaysSinceTest >= retestEveryDay:
		votes = append(votes, vote{Retest, fired("retest_due",
			num("days", e.DaysSinceTest), num("every", retestEveryDay))})
	}
	if e.LeftChange == Worse || e.RightChange == Worse {
		verdict := Stay
		if e.DaysSinceTest >= retestSoonest {
			verdict = Retest
		}
		votes = append(votes, vote{verdict, fired("test_worse", num("days", retestSoonest))})
	} else if e.LeftChange == Better || e.RightChange == Better {
		votes = append(votes, vote{Progress, fired("test_better")})
	}
	return votes
}

// clean counts the newest sessions in a row, at the present dose, that meet the
// exit gate's demands on completion, effort and pain.
func (e Evidence) clean(exit Exit) int {
	n := 0
	for i := len(e.Sessions) - 1; i >= 0; i-- {
		s := e.Sessions[i]
		if !s.SameDose || s.Kept < s.Asked || s.Asked == 0 || s.StoppedByPain ||
			!s.Effort.Known || s.Effort.Value > exit.EffortMax ||
			!s.Pain.Known || s.Pain.Value > exit.PainMax {
			break
		}
		n++
	}
	return n
}

func (e Evidence) weakerHold() Hold {
	return Input{LeftHold: e.LeftHold, RightHold: e.RightHold}.weakerHold()
}
