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
	Wiped     int // documents wiped from a phone

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
	c.Wiped += other.Wiped
	c.ServerRestores += other.ServerRestores
	c.PhoneRestores += other.PhoneRestores
	c.Twins += other.Twins
}

// Met returns the counts by name.
func (c Counts) Met() map[string]int {
	return map[string]int{
		"written": c.Written, "conflicts": c.Conflicts, "exchanges": c.Exchanges,
		"crashes": c.Crashes, "restamped": c.Restamped, "refused": c.Refused,
		"voids": c.Voids, "renewed": c.Renewed, "wiped": c.Wiped,
		"server restores": c.ServerRestores, "phone restores": c.PhoneRestores,
		"twins": c.Twins,
	}
}
