package loading

// Expected runs a series from fresh as it is expected to go, without the band that
// Course gives, for a search over many series. It writes the part of the way to failing
// at the end of each span, 0 to 1, into tired, which must be as long as spans, and
// reports whether every span can be done. The errors are those of Course.
func (c Capacity) Expected(spans []Span, tired []float64) (done bool, err error) {
	if err := checkSpans(spans); err != nil {
		return false, err
	}
	if !c.IsKnown() {
		return false, ErrUnknown
	}
	f, done := 0.0, true
	var last Demand
	share := 0.0
	for i, s := range spans {
		now := 0.0
		if s.Demand.MomentNM > 0 {
			if s.Demand != last {
				last, share = s.Demand, c.shareOf(s.Demand, readings[0])
			}
			now = share
		}
		var heldS float64
		f, heldS = fatigueAfter(f, now, s.Length.Seconds(), readings[0].restFactor)
		tired[i] = spent(f, share)
		if heldS < s.Length.Seconds() {
			done, tired[i] = false, 1
		}
	}
	return done, nil
}
