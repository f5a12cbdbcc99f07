package planning

import (
	"slices"
	"sort"
	"strings"

	"evenhold/internal/sessions"
)

// Numbers of an item that a coach can pin, so that a fit leaves them alone. They are the
// names of the item's fields, but for the sets, which are stored with the repetitions.
const (
	PinSets      = "sets"
	PinReps      = "reps"
	PinHold      = "holdMS"
	PinTime      = "timeMS"
	PinDistance  = "distanceMM"
	PinRestRep   = "restRepMS"
	PinRestSet   = "restSetMS"
	PinExtra     = "extraSets"
	PinLoadLeft  = sessions.FieldLoadWorksLeftG
	PinLoadRight = sessions.FieldLoadWorksRightG
)

// HasPin reports whether field of item is pinned.
func HasPin(item sessions.Item, field string) bool {
	return slices.Contains(strings.Split(item.Pinned, ","), field)
}

// SetPin pins field of item, or takes its pin out.
func SetPin(item sessions.Item, field string, isPinned bool) sessions.Item {
	var kept []string
	for _, f := range strings.Split(item.Pinned, ",") {
		if f != "" && f != field {
			kept = append(kept, f)
		}
	}
	if isPinned {
		kept = append(kept, field)
	}
	sort.Slice(kept, func(i, j int) bool { return kept[i] < kept[j] })
	item.Pinned = strings.Join(kept, ",")
	return item
}
