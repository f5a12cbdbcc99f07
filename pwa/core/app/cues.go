package app

import (
	"evenhold/internal/progression"
	"evenhold/internal/sessions"
)

func seriesCues(turn sessions.Turn, step progression.Step, fromMS int64) []Cue { return nil }

func restCues(restMS int64, step progression.Step, next sessions.Turn) []Cue { return nil }
