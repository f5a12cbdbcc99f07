package demo

import (
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
)

// The steps that the story names.
const (
	straightLeg  = "straight_leg_hold"
	feetElevated = "feet_elevated_hold"
	deadlift     = "raised_suitcase_deadlift"
)

// people are the clients of the practice, invented for it. Hold times lie within the spread of
// published samples, which a test holds.
func people() []person {
	return []person{
		onTrack(), worsening(), disagreed(), overdue(), uneven(), newcomer(), flagged(), quiet(),
	}
}

func at(day, hour, minute int) moment { return moment{day: day, minute: hour*60 + minute} }

func position(seconds int64) hold { return hold{seconds, sessions.StopPosition} }

func gaveUp(seconds int64) hold { return hold{seconds, sessions.StopGaveUp} }

// onTrack gains slowly and evenly; the first gain may be learning.
func onTrack() person {
	return person{
		about: sessions.Client{
			Name: "Ama K.", Sex: "female", BirthYear: 1994, StatureMM: 1680, MassG: 61_000,
			Complaint: "Low back tightens after hill runs", Dominant: "right",
		},
		hasPhone: true, isShown: true, added: at(84, 17, 5),
		screens: []screenDay{{moment: at(84, 17, 12)}},
		tests: []testDay{
			{at(83, 16, 40), straightLeg, sides.WorksRight, position(52), position(55)},
			{at(54, 16, 45), straightLeg, sides.WorksLeft, gaveUp(61), position(63)},
			{at(24, 16, 35), straightLeg, sides.WorksRight, position(65), gaveUp(67)},
		},
		trunks: []trunkDay{
			{at(24, 16, 20), sessions.Extensor, position(118)},
			{at(24, 16, 50), sessions.Flexor, gaveUp(131)},
		},
		plans: []planDay{
			{moment: at(83, 17, 5)},
			{
				moment: at(54, 17, 10), moreReps: 1, without: deadlift,
				reason: "One repetition more a set; no room for the lift at home",
			},
			{
				moment: at(24, 17, 0), moreReps: 1, carryG: 11_000, without: deadlift,
				reason: "Holds as before, a heavier carry instead; no room for the lift at home",
			},
		},
		training: training{
			first: 81, last: 2, gaps: []int{2, 3, 2}, minute: 6*60 + 50, effort: 5,
			place: "low back",
		},
	}
}

// worsening hurts more with each of the last sessions.
func worsening() person {
	return person{
		about: sessions.Client{
			Name: "Ilka B.", Sex: "female", BirthYear: 1987, StatureMM: 1740, MassG: 64_000,
			Complaint: "Ache at the left hip on long runs", Dominant: "right",
		},
		hasPhone: true, added: at(86, 10, 20),
		screens: []screenDay{{moment: at(86, 10, 26)}},
		tests: []testDay{
			{at(86, 10, 40), straightLeg, sides.WorksLeft, position(49), position(57)},
			{at(55, 10, 35), straightLeg, sides.WorksRight, gaveUp(53), position(61)},
			{at(26, 10, 30), straightLeg, sides.WorksLeft, gaveUp(46), position(58)},
		},
		plans: []planDay{
			{moment: at(86, 11, 5)},
			{
				moment: at(55, 11, 0), moreReps: 1, without: deadlift,
				reason: "One repetition more a set; holds and carry only while the hip complains",
			},
			{
				moment: at(26, 11, 0), without: deadlift,
				reason: "Back to the first dose: the left side held less",
			},
		},
		training: training{
			first: 83, last: 2, gaps: []int{3, 2, 2}, minute: 19*60 + 10, effort: 5,
			place: "left hip",
			lately: []feeling{
				{effort: 5, pain: 2}, {effort: 5, pain: 2}, {effort: 6, pain: 3},
				{effort: 6, pain: 5}, {effort: 7, pain: 6},
			},
		},
	}
}

// disagreed changed the left side's load on a phone without a connection, and so did the coach.
func disagreed() person {
	return person{
		about: sessions.Client{
			Name: "Tavita L.", Sex: "male", StatureMM: 1930, MassG: 104_000,
			Complaint: "Stiff low back after days at the desk", Dominant: "right",
		},
		hasPhone: true, added: at(70, 12, 10),
		screens: []screenDay{{moment: at(70, 12, 15)}},
		tests: []testDay{
			{at(69, 12, 30), straightLeg, sides.WorksLeft, position(66), position(71)},
			{at(41, 12, 25), straightLeg, sides.WorksLeft, position(72), gaveUp(75)},
			{at(13, 12, 30), straightLeg, sides.WorksRight, gaveUp(74), position(78)},
		},
		plans: []planDay{
			{moment: at(69, 12, 55)},
			{
				moment: at(41, 12, 50), carryG: 13_000,
				reason: "Thirteen kilograms until the walk is steady",
			},
			{
				moment: at(13, 12, 55), moreReps: 1, carryG: 16_000,
				reason: "One repetition more a set, and 16 kg again: the walk is steady",
			},
		},
		training: training{
			first: 66, last: 4, gaps: []int{3, 4}, minute: 18*60 + 30, effort: 4,
			place: "low back",
		},
		away: &awayDay{
			leaves: at(1, 7, 0), coachAt: at(1, 12, 20), clientAt: at(1, 18, 35),
			returns: at(1, 21, 0),
			coachG:  20_000, clientG: 12_000, felt: feeling{effort: 5, pain: 1, place: "low back"},
		},
	}
}

// overdue trains well and has not been tested for more than five weeks. The shoulder cut the
// first test short, so the later ones are held with the feet raised. The coach stood beside the
// last session and logged a set that the client logged as well.
func overdue() person {
	return person{
		about: sessions.Client{
			Name: "Joaquín R.", Sex: "male", BirthYear: 1979, StatureMM: 1760, MassG: 79_000,
			Complaint: "Back tires at the end of a shift", Dominant: "left",
		},
		hasPhone: true, added: at(88, 9, 5),
		screens: []screenDay{{moment: at(88, 9, 12)}},
		tests: []testDay{
			{
				at(88, 9, 30), straightLeg, sides.WorksLeft, position(51),
				hold{38, sessions.StopArmShoulder},
			},
			{at(66, 9, 35), feetElevated, sides.WorksRight, position(55), gaveUp(52)},
			{at(38, 9, 30), feetElevated, sides.WorksLeft, gaveUp(61), position(59)},
		},
		plans: []planDay{
			{moment: at(88, 9, 55)},
			{
				moment: at(66, 10, 0), moreReps: 1,
				reason: "One repetition more a set than suggested",
			},
			{
				moment: at(38, 9, 55), moreReps: 1, carryG: 13_000,
				reason: "One repetition more a set, and the next heavier weight",
			},
		},
		training: training{
			first: 85, last: 1, gaps: []int{2, 3, 2}, minute: 20*60 + 5, effort: 5,
			place: "right shoulder",
		},
		beside: at(1, 21, 30),
	}
}

// uneven gave way on the left in about half the time of the right, and has no plan yet.
func uneven() person {
	return person{
		about: sessions.Client{
			Name: "Nadia F.", Sex: "female", BirthYear: 1991, StatureMM: 1650, MassG: 57_000,
			Complaint: "Leans to one side when tired", Dominant: "right",
		},
		added:   at(4, 15, 10),
		screens: []screenDay{{moment: at(4, 15, 16)}},
		tests: []testDay{
			{at(2, 15, 30), straightLeg, sides.WorksRight, position(34), gaveUp(72)},
		},
	}
}

// newcomer came yesterday and has not answered the safety screen.
func newcomer() person {
	return person{
		about: sessions.Client{Name: "Oskar W.", Complaint: "Wants to row again after a break"},
		added: at(1, 17, 20),
	}
}

// flagged trained until a yes on the safety screen, which waits for a clinician's look.
func flagged() person {
	return person{
		about: sessions.Client{
			Name: "Priya S.", Sex: "female", BirthYear: 1983, StatureMM: 1590, MassG: 66_000,
			Complaint: "Low back sore after lifting at work",
		},
		hasPhone: true, added: at(59, 13, 30),
		screens: []screenDay{
			{moment: at(59, 13, 35)},
			{moment: at(3, 13, 40), yes: "night_pain"},
		},
		tests: []testDay{
			{at(58, 13, 30), straightLeg, sides.WorksRight, position(41), position(44)},
			{at(25, 13, 35), straightLeg, sides.WorksLeft, position(46), gaveUp(47)},
		},
		plans: []planDay{
			{moment: at(58, 13, 55)},
			{
				moment: at(25, 14, 0), carryG: 7_000, without: deadlift,
				reason: "A lighter weight: lifts enough at work",
			},
		},
		training: training{
			first: 55, last: 5, gaps: []int{4, 3}, minute: 7*60 + 15, effort: 6,
			place: "low back",
		},
	}
}

// quiet joined and got a plan, and has logged nothing since.
func quiet() person {
	return person{
		about: sessions.Client{
			Name: "Emre T.", Sex: "male", BirthYear: 2001, StatureMM: 1820, MassG: 90_000,
			Complaint: "Back tires while standing",
		},
		hasPhone: true, added: at(9, 18, 0),
		screens: []screenDay{{moment: at(9, 18, 5)}},
		tests: []testDay{
			{at(9, 18, 15), straightLeg, sides.WorksLeft, gaveUp(43), position(47)},
		},
		plans: []planDay{{moment: at(9, 18, 40)}},
	}
}
