package app

import (
	"strconv"

	"evenhold/internal/loading"
	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/sync/record"
)

// capacityScreen shows what each side of a person can bear, how long each variant could
// be held, which weights ask the planned share, and how the estimate moved.
func (a *App) capacityScreen(d *record.Doc) View {
	v := View{Screen: "list", Head: a.headOf(d, say("capacity.where")),
		Finding: say("capacity.finding")}
	v.Head.Back = personRoute(d.ID())
	known, err := a.capacities(d)
	if err != nil || known.Weaker() == "" {
		v.Finding = missing(err)
		return v
	}
	v.Sections = []Section{
		a.strengths(&v, known),
		{Title: say("capacity.holds"), Note: say("capacity.holds_note"), Rows: holdRows(known)},
		{Title: say("capacity.carries"), Note: say("capacity.carries_note"), Rows: a.carryRows(known)},
		{Title: say("capacity.history"), Note: say("capacity.history_note"), Rows: pastRows(known)},
	}
	return v
}

func (a *App) strengths(v *View, known planning.Capacities) Section {
	section := Section{Note: say("capacity.note")}
	for _, w := range bothSides {
		s, err := known.Of(w).Strength()
		if err != nil {
			section.Rows = append(section.Rows, Row{Title: say("capacity.unknown_" + string(w))})
			continue
		}
		section.Rows = append(section.Rows, Row{
			Title: say("capacity.side_"+string(w), "nm", round(s.MedianNM)),
			Lines: []Text{
				say("capacity.span", "low", round(s.LowNM), "high", round(s.HighNM)),
				say("capacity.from", "values", known.Of(w).Observed, "bounds", known.Of(w).Bounds),
			},
		})
		working := workingView(s.Working)
		working.Title = say("capacity.working_" + string(w))
		v.Workings = append(v.Workings, working)
	}
	return section
}

// holdRows predict each variant of the hold on each side.
func holdRows(known planning.Capacities) []Row {
	var rows []Row
	for _, step := range progression.Ladders()[0].Steps {
		if step.Kind != progression.ByHold {
			continue
		}
		row := Row{Title: say(step.Name)}
		for _, w := range bothSides {
			c := known.Of(w)
			statics, err := loading.Load(c.Body,
				loading.Setup{Posture: loading.Posture(step.Posture), Works: w})
			if err != nil {
				continue
			}
			hold, err := c.Hold(statics.Demand)
			if err != nil {
				continue
			}
			row.Lines = append(row.Lines, say("capacity.hold", "place", placement(step, w)[0],
				"works", placement(step, w)[1], "s", lasting(hold.Median.Seconds()),
				"low", lasting(hold.Low.Seconds()), "high", lasting(hold.High.Seconds()),
				"share", round(100*hold.MedianShare)))
		}
		rows = append(rows, row)
	}
	return rows
}

// lasting says a predicted time, and "longer than an hour" where the model ends.
func lasting(s float64) Text {
	if s >= loading.Longest.Seconds() {
		return say("capacity.longest")
	}
	return plain(strconv.FormatInt(round(s), 10))
}

// carryRows give the weight that asks the planned share of each side, with its own working.
func (a *App) carryRows(known planning.Capacities) []Row {
	implementsG := a.practice().ImplementsG
	var rows []Row
	for _, step := range progression.Ladders()[1].Steps {
		for _, w := range bothSides {
			carry, err := planning.CarryFor(known.Of(w), step, implementsG)
			if err != nil {
				continue
			}
			place := placement(step, w)
			row := Row{Title: say(step.Name), Working: ptr(workingView(carry.Working))}
			if carry.Limit == loading.LimitNoImplement {
				row.Lines = []Text{say("capacity.carry_none", "place", place[0], "works", place[1],
					"kg", figures(float64(carry.BeforeRoundingG)/1000),
					"lightest", lightestKG(implementsG))}
			} else {
				row.Lines = []Text{say("capacity.carry", "place", place[0], "works", place[1],
					"kg", float64(carry.LoadG)/1000, "limit", say("limit."+string(carry.Limit)))}
			}
			rows = append(rows, row)
		}
	}
	return rows
}

// pastShown is how many steps of the estimate's history are listed for each side.
const pastShown = 8

func pastRows(known planning.Capacities) []Row {
	var rows []Row
	for _, w := range bothSides {
		past := known.Of(w).History
		row := Row{Title: say("capacity.past_" + string(w))}
		for _, p := range past[max(len(past)-pastShown, 0):] {
			row.Lines = append(row.Lines, say("capacity.past", "on", day(p.AtMS),
				"nm", round(p.MedianNM), "low", round(p.LowNM), "high", round(p.HighNM),
				"end", say("capacity.end_"+string(p.End))))
		}
		if len(row.Lines) > 0 {
			rows = append(rows, row)
		}
	}
	return rows
}
