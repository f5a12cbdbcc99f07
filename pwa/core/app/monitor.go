package app

import (
	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/sync/record"
)

// weeksShown is how many weeks of load are listed.
const weeksShown = 6

// loadScreen shows what a person's sessions add up to, week by week: for information, and
// it says so.
func (a *App) loadScreen(d *record.Doc) View {
	v := View{Screen: "list", Head: a.headOf(d, say("load.where")), Finding: say("load.finding")}
	v.Head.Back = personRoute(d.ID())
	weeks := planning.Weeks(d, int(a.dayNumber(a.now.At.WallMS)), weeksShown)
	section := Section{Note: say("load.note"), Empty: say("load.empty")}
	for i, w := range weeks {
		if w.Sessions == 0 && w.Side.LeftNMS+w.Side.RightNMS == 0 {
			continue
		}
		section.Rows = append(section.Rows, weekRow(weeks, i))
		if len(v.Workings) == 0 && w.Sessions > 0 {
			v.Workings = []WorkingView{workingView(w.Load.Working)}
		}
	}
	v.Sections = []Section{section}
	return v
}

func weekRow(weeks []planning.Week, i int) Row {
	w := weeks[i]
	row := Row{
		Title: say("load.week", "from", day(w.FirstDay*86_400_000+noonMS),
			"to", day(w.LastDay*86_400_000+noonMS)),
		Lines: []Text{say("load.total", "n", w.Sessions, "load", round(w.Load.Total))},
	}
	if w.Unrated > 0 {
		row.Lines = append(row.Lines, say("load.unrated", "n", w.Unrated))
	}
	if w.Load.Defined {
		row.Lines = append(row.Lines, say("load.monotony", "monotony", figures(w.Load.Monotony),
			"strain", round(w.Load.Strain)))
	} else {
		row.Lines = append(row.Lines, say("load.flat"))
	}
	switch {
	case !w.HasBody:
		row.Lines = append(row.Lines, say("load.no_body"))
	case w.Side.Shared:
		row.Lines = append(row.Lines,
			say("load.work", "a", round(w.Side.LeftNMS), "b", round(w.Side.RightNMS)),
			say("load.balance", "a", round(100*w.Side.LeftShare), "b",
				100-round(100*w.Side.LeftShare)))
		row.Bars = &Bars{thousandth(w.Side.LeftShare), thousandth(1 - w.Side.LeftShare)}
	}
	if i+1 < len(weeks) {
		change, ok := progression.WeekChangePercent(weeks[i+1].Load.Total, w.Load.Total)
		if ok && change >= 0 {
			row.Lines = append(row.Lines, say("load.more", "percent", round(change)))
		} else if ok {
			row.Lines = append(row.Lines, say("load.less", "percent", round(-change)))
		}
	}
	return row
}

// noonMS keeps a day's date the same in every time zone that a phone may be in.
const noonMS = 43_200_000
