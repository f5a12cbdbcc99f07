package app

import (
	"math"
	"time"

	"evenhold/internal/planning"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/symmetry"
	"evenhold/sync/record"
)

// batterySection shows the trunk holds of a test's visit, and the ratios to them with the
// bands that are often quoted; of what was not held it says so, and why there is no ratio.
func (a *App) batterySection(d *record.Doc, test sessions.Test) Section {
	visit := planning.VisitOf(d, test)
	client, _ := sessions.ClientIn(d)
	section := Section{Title: say("battery.title"), Note: say("battery.note")}
	isToday := a.dayNumber(test.StartedMS) == a.dayNumber(a.now.At.WallMS)
	for _, what := range sessions.TrunkHolds() {
		row := Row{Title: say("trunk." + what), Lines: []Text{say("battery.not_held")}}
		if hold, held := visit.Held[what]; held {
			row.Lines = []Text{trunkText(hold)}
			section.Rows = append(section.Rows, row)
			section.Rows = append(section.Rows, a.sampleRows(say("battery.sample_"+what),
				reference.Test(what), "", client.Sex, hold.HeldMS, hold.IsBound())...)
			continue
		}
		if _, isFlagged := sessions.OpenFlag(d); isToday && !isFlagged {
			row.Actions = []Action{{
				Label: say("battery.do_" + what), Route: trunkRoute(d, what),
			}}
		}
		section.Rows = append(section.Rows, row)
	}
	for _, r := range visit.Ratios(a.testNoise().Model) {
		section.Rows = append(section.Rows, ratioRow(r, visit))
	}
	return section
}

// ratioHolds are the two holds of each ratio, over and under.
var ratioHolds = map[string][2]string{
	"ratio.right_left":      {"right", "left"},
	"ratio.left_extensor":   {"left", sessions.Extensor},
	"ratio.right_extensor":  {"right", sessions.Extensor},
	"ratio.flexor_extensor": {sessions.Flexor, sessions.Extensor},
}

func ratioRow(r symmetry.Ratio, visit planning.Visit) Row {
	row := Row{Title: say("battery." + r.Key), Working: ptr(workingView(r.Working))}
	if r.Ratio == 0 {
		row.Reason = say("battery.no_ratio")
		for _, hold := range ratioHolds[r.Key] {
			if why := whyNone(hold, visit); why != "" {
				row.Lines = append(row.Lines, why)
			}
		}
		return row
	}
	row.Reason = say("battery.is_" + string(r.Verdict))
	row.Lines = []Text{
		say("battery.ratio", "ratio", hundredth(r.Ratio), "low", hundredth(r.Low),
			"high", hundredth(r.High)),
	}
	if r.BandLow > 0 {
		row.Lines = append(row.Lines, say("battery.band", "low", hundredth(r.BandLow),
			"top", hundredth(r.BandTop)))
	} else {
		row.Lines = append(row.Lines, say("battery.band_below", "top", hundredth(r.BandTop)))
	}
	return row
}

// whyNone says why a hold gives no ratio, "" where it is not the reason.
func whyNone(hold string, visit planning.Visit) Text {
	timed := map[string]symmetry.Timed{
		"left": visit.Left, "right": visit.Right,
		sessions.Extensor: visit.Extensor, sessions.Flexor: visit.Flexor,
	}[hold]
	switch {
	case timed.Hold < time.Second:
		return say("battery.missing_" + hold)
	case !timed.IsValue():
		return say("battery.bound_"+hold, "why", say("stop."+string(timed.Stop)))
	}
	return ""
}

func hundredth(f float64) float64 { return math.Round(100*f) / 100 }
