package loading

import "evenhold/internal/working"

var (
	sourceSegments = working.Source{
		Title: "Adjustments to Zatsiorsky-Seluyanov's segment inertia parameters",
		Where: "J Biomech 29(9):1223-1230", Year: 1996, Status: working.Seen,
	}
	sourceLengths = working.Source{
		Title:  "Segment lengths as fractions of stature, classic textbook figure",
		Status: working.Seen,
	}
	sourceStatics = working.Source{
		Title: "Our own rigid-segment statics", Status: working.Estimate,
	}
	sourceLowBack = working.Source{
		Title: "Height of the low back, 0.610 of stature", Status: working.Memory,
	}
	sourceSides = working.Source{
		Title: "Which side works", Status: working.Practice,
	}
	sourcePowerLaw = working.Source{
		Title: "Endurance time is joint-specific: a modelling and meta-analysis investigation",
		Where: "Ergonomics 53(1):109-129", DOI: "10.1080/00140130903389068", Year: 2010,
		Status: working.Seen,
	}
	sourceFatigue = working.Source{
		Title: "A three-compartment muscle fatigue model accurately predicts joint-specific " +
			"maximum endurance times for sustained isometric tasks",
		Where: "J Biomech 45(10):1803-1808", DOI: "10.1016/j.jbiomech.2012.04.018", Year: 2012,
		Status: working.Seen,
	}
	sourceRest = working.Source{
		Title: "Modification of a three-compartment muscle fatigue model to predict peak " +
			"torque decline during intermittent tasks",
		Where: "J Biomech 77:16-25", DOI: "10.1016/j.jbiomech.2018.06.005", Year: 2018,
		Status: working.Seen,
	}
	sourceTrialNoise = working.Source{
		Title: "The impact of anthropometric characteristics on isometric trunk muscle " +
			"endurance tests",
		Where: "PLoS One 20(6):e0324787", DOI: "10.1371/journal.pone.0324787", Year: 2025,
		Status: working.Seen,
	}
	sourceOneHand = working.Source{
		Title: "Low back loads while walking and carrying: comparing the load carried in " +
			"one hand or in both hands",
		Where: "Ergonomics 56(2):293-302", DOI: "10.1080/00140139.2012.752528", Year: 2013,
		Status: working.Seen,
	}
	sourceGuard = working.Source{
		Title: "10 to 20 % of body mass, our default", Status: working.Estimate,
	}
	sourceEffort = working.Source{
		Title: "Effort grows evenly with time held", Status: working.Memory,
	}
	sourceOldLine = working.Source{
		Title: "Static endurance curve of 1960, for comparison only", Year: 1960,
		Status: working.Seen,
	}
)
