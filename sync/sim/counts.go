package sim

// Counts says what a run, or many, met, so that an empty run is noticed.
type Counts struct {
	Written   int // operations
	Conflicts int // fields with values recorded alongside each other, at the end
	Exchanges int // requests that reached the server
	Crashes   int // of phones
	Restamped int // operations stamped anew or written again for a wrong clock
	Refused   int // operations that the server refused
	Voids     int // records deleted
	Renewed   int // new identities after a fork
	Compacted int // operations that phones let go of
	Wiped     int // documents wiped from a phone

	Splits   int // times that a phone was cut off for hours
	Outdated int // requests refused because one end was a version behind
	Newer    int // operations of kinds that only the newer version knows
	Unpaired int // phones let go by the server and paired again

	ServerRestores, PhoneRestores, Twins int // faults that struck
}

// Add adds the counts of another run.
func (c *Counts) Add(other Counts) {
	c.Written += other.Written
	c.Conflicts += other.Conflicts
	c.Exchanges += other.Exchanges
	c.Crashes += other.Crashes
	c.Restamped += other.Restamped
	c.Refused += other.Refused
	c.Voids += other.Voids
	c.Renewed += other.Renewed
	c.Compacted += other.Compacted
	c.Wiped += other.Wiped
	c.Splits += other.Splits
	c.Outdated += other.Outdated
	c.Newer += other.Newer
	c.Unpaired += other.Unpaired
	c.ServerRestores += other.ServerRestores
	c.PhoneRestores += other.PhoneRestores
	c.Twins += other.Twins
}

// Met returns the counts by name.
func (c Counts) Met() map[string]int {
	return map[string]int{
		"written": c.Written, "conflicts": c.Conflicts, "exchanges": c.Exchanges,
		"crashes": c.Crashes, "restamped": c.Restamped, "refused": c.Refused,
		"voids": c.Voids, "renewed": c.Renewed, "wiped": c.Wiped, "compacted": c.Compacted,
		"splits": c.Splits, "outdated": c.Outdated, "newer": c.Newer, "unpaired": c.Unpaired,
		"server restores": c.ServerRestores, "phone restores": c.PhoneRestores,
		"twins": c.Twins,
	}
}
