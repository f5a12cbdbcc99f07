package app

import (
	"strconv"

	"evenhold/internal/working"
)

// workingView is a number's derivation, ready to draw.
func workingView(w working.Working) WorkingView {
	v := WorkingView{
		Title: say(w.Key), Inputs: []WorkingInput{}, Steps: []WorkingStep{}, Cautions: []Text{},
	}
	for _, in := range w.Inputs {
		line := WorkingInput{Label: say(in.Key), Value: quantity(in.Value, in.Unit)}
		if in.Note != "" {
			line.Note = say(in.Note)
		}
		v.Inputs = append(v.Inputs, line)
	}
	for _, s := range w.Steps {
		v.Steps = append(v.Steps, WorkingStep{
			Label: say(s.Key), Formula: s.Formula, Value: quantity(s.Value, s.Unit),
		})
	}
	v.Sources = sourceViews(w.Sources)
	for _, c := range w.Cautions {
		v.Cautions = append(v.Cautions, say(c))
	}
	if w.Level > 0 {
		v.Cautions = append(v.Cautions, say("working.interval", "low", figures(w.Low),
			"high", figures(w.High), "percent", round(w.Level*100), "unit", unitWord(w.Unit)))
	}
	return v
}

// sourceViews name where numbers and rules are from.
func sourceViews(sources []working.Source) []WorkingSource {
	views := []WorkingSource{}
	for _, s := range sources {
		where := s.Where
		if s.Year != 0 {
			where += ", " + strconv.Itoa(s.Year)
		}
		if s.DOI != "" {
			where += ", doi:" + s.DOI
		}
		views = append(views, WorkingSource{
			Title: s.Title, Where: where, Status: say("status." + string(s.Status)),
		})
	}
	return views
}

func quantity(v float64, unit string) Text {
	return say("working.value", "value", figures(v), "unit", unitWord(unit))
}

// figures keeps three significant figures: more would claim too much.
func figures(v float64) float64 {
	f, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		return 0
	}
	return f
}

func unitWord(unit string) Text {
	switch unit {
	case "", "1":
		return say("unit.none")
	case "N.m":
		return say("unit.Nm")
	case "%":
		return say("unit.percent")
	case "1/s":
		return say("unit.per_s")
	}
	return say("unit." + unit)
}
