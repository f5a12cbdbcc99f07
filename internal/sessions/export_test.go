package sessions

import (
	"maps"
	"slices"
)

// KindsKnown lets the tests ask for every kind.
func KindsKnown() []string { return slices.Sorted(maps.Keys(known)) }
