package demo

import (
	"context"

	"evenhold/internal/planning"
	"evenhold/internal/reference"
	"evenhold/internal/sessions"
	"evenhold/internal/symmetry"
	"evenhold/server/store"
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

// settings are what the story's suggestions are made by.
func settings() planning.Practice {
	p := planning.Practice{Noise: symmetry.DefaultModel()}
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
	_, err = s.coach.create(d, sessions.KindSample, rowers.Values(), atMS)
	return err
}
