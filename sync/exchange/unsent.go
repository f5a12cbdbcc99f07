package exchange

// Unsent returns how many operations are not known to have arrived.
func (p *Phone) Unsent() int {
	own := p.ownPast(p.acked)
	return len(own) + len(p.orphans) - len(p.withdrawn)
}

// UnsentSinceMS returns when the oldest of them was written, by its stamp; 0 when there is none.
func (p *Phone) UnsentSinceMS() (ms int64) {
	for _, op := range append(p.ownPast(p.acked), p.orphans...) {
		if op.Stamp.Device == p.author.Device() && p.withdrawn[op.Seq] {
			continue
		}
		if ms == 0 || op.Stamp.WallMS < ms {
			ms = op.Stamp.WallMS
		}
	}
	return ms
}
