package demo

import (
	"context"

	"evenhold/internal/planning"
	"evenhold/internal/progression"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/symmetry"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// weights are what stands in the yard, in grams.
var weights = []sessions.Implement{
	{What: sessions.Kettlebell, WeightG: 4_000}, {What: sessions.Dumbbell, WeightG: 5_000},
	{What: sessions.Kettlebell, WeightG: 6_000}, {What: sessions.Dumbbell, WeightG: 7_000},
	{What: sessions.Bucket, WeightG: 7_500}, {What: sessions.Kettlebell, WeightG: 8_000},
	{What: sessions.Dumbbell, WeightG: 9_000}, {What: sessions.Bucket, WeightG: 11_000},
	{What: sessions.Dumbbell, WeightG: 13_000}, {What: sessions.Kettlebell, WeightG: 16_000},
	{What: sessions.Kettlebell, WeightG: 20_000},
}

// rowers is a sample of the practice's own, made up and small enough to be warned of.
var rowers = sessions.Sample{
	Name: "Our rowers, spring testing", What: string(reference.SideBridge), People: 16,
	MeanMS: 66_000, SDMS: 19_000,
}

// edit is one thing that the practice says of a step of the ladders.
type edit struct {
	step, field string
	value       record.Value
}

// edits are what it changed: a longer rest in the bent-knee hold with words of its own, and
// no weight above the head.
var edits = []edit{
	{"bent_knee_hold", string(progression.EditRestSet), record.Int(60_000)},
	{"bent_knee_hold", "cue1", record.Text("Belt buckle up")},
	{"overhead_carry", progression.EditHidden, record.Bool(true)},
	{"overhead_turns", progression.EditHidden, record.Bool(true)},
}

// settings are what the story's suggestions are made by.
func settings() planning.Practice {
	p := planning.Practice{Noise: symmetry.DefaultModel()}
	scratch := newPhone(1, sessions.Author{Name: coachName, Role: sessions.Owner})
	d := record.NewDoc(scratch.pen.NextID())
	if err := scratch.edit(d, 0); err != nil {
		panic(err) // the edits are part of the program
	}
	p.Edition = planning.EditionOf(d)
	for _, w := range weights {
		p.ImplementsG = append(p.ImplementsG, w.WeightG)
	}
	return p
}

// furnish writes what the practice sets for everyone, on the coach's phone.
func (s *story) furnish(file *store.Store, atMS int64) error {
	practice, err := file.Practice(context.Background())
	if err != nil {
		return err
	}
	d, err := file.Document(context.Background(), practice.Doc)
	if err != nil {
		return err
	}
	for _, w := range weights {
		if _, err := s.coach.create(d, sessions.KindImplement, w.Values(), atMS); err != nil {
			return err
		}
	}
	if err := s.coach.edit(d, atMS); err != nil {
		return err
	}
	_, err = s.coach.create(d, sessions.KindSample, rowers.Values(), atMS)
	return err
}

// edit changes the practice's ladders.
func (p *phone) edit(d *record.Doc, atMS int64) error {
	for _, e := range edits {
		id := sessions.StepID(e.step)
		for _, f := range []edit{{e.step, "step", record.Text(e.step)}, e} {
			if err := p.write(d, id, sessions.KindStep, f.field, f.value, atMS); err != nil {
				return err
			}
		}
	}
	return nil
}
