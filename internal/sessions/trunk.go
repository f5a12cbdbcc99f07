package sessions

import (
	"slices"
	"sort"

	"evenhold/sync/record"
)

// What a trunk hold is of: the two holds of the trunk battery that have no sides.
const (
	Extensor = "extensor"
	Flexor   = "flexor"
)

// TrunkHolds returns both, in the order they are offered.
func TrunkHolds() []string { return []string{Extensor, Flexor} }

// TrunkStops returns the reasons that a tester can give for the end of a trunk hold, in
// the order they are offered.
func TrunkStops() []string {
	return []string{StopPosition, StopGaveUp, StopElsewhere, StopPain, StopLimit, StopTesterError}
}

// Trunk is one timed hold of the extensors or flexors of the trunk.
type Trunk struct {
	_         [0]func()
	ID        record.ID
	What      string // one of TrunkHolds
	StartedMS int64
	TZMin     int64 // minutes east of UTC where it was taken
	HeldMS    int64
	Clock     string
	Stop      string
	IsTold    bool // the time was told, or the person cheered on
}

// Values returns the hold as the fields of a new record.
func (t Trunk) Values() []record.FieldValue {
	var f fields
	f.text("what", t.What)
	f.count("startedMS", t.StartedMS)
	f.count("tzMin", t.TZMin)
	f.count("heldMS", t.HeldMS)
	f.text("clock", t.Clock)
	f.text("stop", t.Stop)
	f.truth("timeTold", t.IsTold)
	return f
}

// Trunks returns the trunk holds of a client document, oldest first, without those that
// a tester's slip ended or that are voided.
func Trunks(d *record.Doc) []Trunk {
	var all []Trunk
	for _, r := range live(d, KindTrunk) {
		t := Trunk{
			ID: r.ID(), What: text(r, "what"), StartedMS: number(r, "startedMS"),
			TZMin: number(r, "tzMin"), HeldMS: number(r, "heldMS"), Clock: text(r, "clock"),
			Stop: text(r, "stop"), IsTold: truth(r, "timeTold"),
		}
		if t.Stop != StopTesterError && slices.Contains(TrunkHolds(), t.What) {
			all = append(all, t)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].StartedMS < all[j].StartedMS })
	return all
}

// IsBound reports whether the trunk could have held at least this long.
func (t Trunk) IsBound() bool { return isBound(t.Stop) }
