package app

func (a *App) year() int64 { return yearOf(a.now.At.WallMS, a.now.TZMin) }

// yearOf returns the year of an instant, in milliseconds since 1970 UTC, in a
// time zone tzMin minutes east of UTC; 1970 for all that is earlier. It reckons
// by itself because time's calendar and zones are much of what phones download.
func yearOf(ms, tzMin int64) int64 {
	const dayMS, daysIn400Years = 86_400_000, 146_097
	days := max(ms+tzMin*60_000, 0) / dayMS
	year := 1970 + days*400/daysIn400Years // or one beside it
	if daysBefore(year) > days {
		return year - 1
	}
	if daysBefore(year+1) <= days {
		return year + 1
	}
	return year
}

// daysBefore counts the days from 1970 to the start of a later year.
func daysBefore(year int64) int64 {
	const leapDaysBefore1970 = 477
	past := year - 1
	return 365*(year-1970) + past/4 - past/100 + past/400 - leapDaysBefore1970
}
