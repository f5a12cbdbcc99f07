package app

import (
	"evenhold/internal/loading"
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
	"evenhold/internal/sides"
	"evenhold/sync/record"
)

// body returns what the statics need of a client; without stature or mass a
// middling body (ours) is drawn, and only drawn: no number of it is shown.
func body(c sessions.Client) (b loading.Body, isKnown bool) {
	b = loading.Body{MassG: c.MassG, StatureMM: int(c.StatureMM), Sex: c.Sex}
	if c.MassG == 0 || c.StatureMM == 0 {
		return loading.Body{MassG: 70_000, StatureMM: 1_700, Sex: c.Sex}, false
	}
	return b, true
}

// figure draws a step with w working, from the segments that its load is
// worked out with. It is nil for a setup that cannot be.
func (a *App) figure(d *record.Doc, stepID string, w sides.Working, loadG int64) *Figure {
	step, found := progression.StepByID(stepID)
	if !found {
		return nil
	}
	client, _ := sessions.ClientIn(d)
	b, isKnown := body(client)
	statics, err := loading.Load(b, loading.Setup{
		Posture: loading.Posture(step.Posture), Works: w, LoadG: loadG,
	})
	if err != nil {
		return nil
	}
	fig := &Figure{
		Label: say("figure.label", "step", nameOf(step), "place", placement(step, w)[0],
			"works", placement(step, w)[1]),
		Works: string(w), Notes: placement(step, w), Supports: []FigureSupport{},
	}
	for _, l := range statics.Lines {
		fig.Lines = append(fig.Lines, FigureLine{l.X1, l.Y1, l.X2, l.Y2, l.Part})
	}
	if !isKnown {
		return fig
	}
	for _, s := range statics.Supports {
		if n := s.Newtons(); n > 0 {
			fig.Supports = append(fig.Supports, FigureSupport{s.X, s.Y, float64(int(n + 0.5))})
		}
	}
	for _, s := range statics.Weights {
		if n := s.Newtons(); n > 0 {
			fig.Weight = &FigureSupport{s.X, s.Y, float64(int(n + 0.5))}
		}
	}
	return fig
}

// nameOf names a step; one that this version does not know, as a newer phone may
// write, is named by what it is.
func nameOf(step progression.Step) Text {
	if step.Name == "" {
		return say("kind.item")
	}
	return say(step.Name)
}

// placement says how to take up a step, and the side that works.
func placement(step progression.Step, w sides.Working) []Text {
	p := step.Place(w)
	if p.Hand != "" {
		return handNotes(p.Hand)
	}
	notes := downNotes(p.Down)
	if step.Posture == progression.WallLean {
		notes[0] = say("side.leans_on", "side", sideWord(p.Down))
	}
	return notes
}
