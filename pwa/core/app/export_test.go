package app

import "math"

// Knows reports whether a command of that name is there to be sent.
func Knows(do string) bool {
	_, found := handlers[do]
	return found
}

// SnapshotAfter is how many operations a document's log may hold.
const SnapshotAfter = snapshotAfter

// NoisePercent is the typical error that the phone goes by, to a hundredth of a percent.
func (a *App) NoisePercent() float64 {
	return math.Round(1e4*math.Expm1(a.testNoise().Model.TypicalError)) / 100
}
