package app

import (
	"math"
	"slices"
	"time"

	"evenhold/internal/planning"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// changeRows say for each side what became of it since the test before, of the same
// variant, against the smallest change that is beyond the test noise.
func (a *App) changeRows(tests []sessions.Test) []Row {
	m := a.testNoise().Model
	var rows []Row
	for _, w := range bothSides {
		c, found := planning.Changed(tests, w, m)
		if !found {
			continue
		}
		row := Row{
			Title: say("result.since_" + string(w)), Working: ptr(workingView(c.Working)),
			Reason: say("result.changed_" + string(c.Verdict)),
		}
		if c.HighPercent > c.LowPercent {
			row.Lines = append(row.Lines, percentSpan("result.span", c.LowPercent, c.HighPercent))
		} else {
			row.Lines = append(row.Lines, say("verdict.bounds"))
		}
		row.Lines = append(row.Lines, say("result.mdc95",
			"longer", round(100*math.Expm1(c.MDC95)), "shorter", round(-100*math.Expm1(-c.MDC95))))
		if slices.Contains(c.Working.Cautions, "caution.first_retest") {
			row.Lines = append(row.Lines, say("result.learning"))
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		return []Row{{
			Title: say("result.first_time"), Lines: []Text{say("result.first_time_lead")},
		}}
	}
	return rows
}

// percentSpan says an interval of a change in words that need no sign.
func percentSpan(key string, low, high float64) Text {
	switch {
	case low >= 0:
		return say(key+"_longer", "low", round(low), "high", round(high))
	case high <= 0:
		return say(key+"_shorter", "low", round(-high), "high", round(-low))
	}
	return say(key+"_either", "low", round(-low), "high", round(high))
}

// trendSections draw both sides through their tests about the plumb line and look ahead
// to the target; none before a second test.
func (a *App) trendSections(d *record.Doc, tests []sessions.Test) []Section {
	m := a.testNoise().Model
	trends := map[sides.Working]symmetry.Trend{}
	for _, w := range bothSides {
		trends[w] = planning.Trend(tests, w, m)
	}
	if max(len(trends[sides.WorksLeft].Levels), len(trends[sides.WorksRight].Levels)) < 2 {
		return nil
	}
	course := Section{
		Title: say("trend.title"), Note: say("trend.note"), Trend: trendView(tests, trends),
	}
	client, _ := sessions.ClientIn(d)
	target := time.Duration(client.TargetMS) * time.Millisecond
	ahead := Section{Title: say("forecast.title", "s", target.Seconds())}
	if target == 0 {
		target = time.Duration(reference.Must("band.hold_usual").Value) * time.Second
		ahead.Title = say("forecast.title", "s", target.Seconds())
		ahead.Note = say("forecast.usual")
	}
	for _, w := range bothSides {
		t := trends[w]
		if len(t.Levels) == 0 {
			continue
		}
		course.Rows = append(course.Rows, Row{
			Title: say("trend.side_" + string(w)), Working: ptr(workingView(t.Working)),
			Lines: []Text{levelText(t), percentSpan("trend.week", t.WeeklyLow, t.WeeklyHigh)},
		})
		ahead.Rows = append(ahead.Rows, forecastRow(t, w, target))
	}
	return []Section{course, ahead}
}

func levelText(t symmetry.Trend) Text {
	l := t.Levels[len(t.Levels)-1]
	return say("trend.level", "s", round(l.Hold.Seconds()), "low", round(l.Low.Seconds()),
		"high", round(l.High.Seconds()))
}

// forecastRow says when a side is at the target, or what is missing to say so.
func forecastRow(t symmetry.Trend, w sides.Working, target time.Duration) Row {
	f := t.Forecast(target)
	row := Row{
		Title: say("trend.side_" + string(w)), Reason: say("verdict." + string(f.Verdict)),
		Working: ptr(workingView(f.Working)),
	}
	switch f.Verdict {
	case symmetry.TooFewTests:
		row.Lines = []Text{say("forecast.lacks", "n", max(3-t.Days, 1))}
	case symmetry.InSight:
		row.Lines = []Text{say("forecast.likely", "n", f.LikelyDays), aheadText(f)}
	case symmetry.NotInSight:
		row.Lines = []Text{say("forecast.none", "n", f.HorizonDays)}
	}
	return row
}

func aheadText(f symmetry.Forecast) Text {
	if f.LatestDays == symmetry.Never {
		return say("forecast.from", "from", f.EarliestDays, "to", f.HorizonDays)
	}
	return say("forecast.between", "from", f.EarliestDays, "to", f.LatestDays)
}

// trendView scales both sides alike: the longest of all bands is the half width.
func trendView(tests []sessions.Test, trends map[sides.Working]symmetry.Trend) *TrendView {
	var first, last int
	var widest float64
	isFirst := true
	for _, w := range bothSides {
		for _, l := range trends[w].Levels {
			widest = max(widest, l.High.Seconds(), l.Tested.Seconds())
			if isFirst {
				first, last, isFirst = l.Day, l.Day, false
			}
			first, last = min(first, l.Day), max(last, l.Day)
		}
	}
	marks := func(t symmetry.Trend) []TrendMark {
		all := []TrendMark{}
		for _, l := range t.Levels {
			all = append(all, TrendMark{
				// A twentieth is left at both ends, so that no mark is cut.
				At:  0.05 + 0.9*float64(l.Day-first)/max(float64(last-first), 1),
				Mid: l.Hold.Seconds() / widest, Low: l.Low.Seconds() / widest,
				High: l.High.Seconds() / widest, Tested: ptr(l.Tested.Seconds() / widest),
				AtLeast: l.IsLowerBound,
			})
		}
		return all
	}
	return &TrendView{
		Label: say("trend.label", "n", len(tests)),
		First: say("trend.first", "on", day(int64(first)*86_400_000+43_200_000)),
		Last:  say("trend.last", "on", day(int64(last)*86_400_000+43_200_000), "s", round(widest)),
		Left:  marks(trends[sides.WorksLeft]), Right: marks(trends[sides.WorksRight]),
	}
}
