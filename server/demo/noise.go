package demo

// noise is the chance of the story: small, and the same in every run. It is SplitMix64 of "Fast
// splittable pseudorandom number generators", OOPSLA 2014, doi:10.1145/2660193.2660195.
type noise uint64

func (n *noise) next() uint64 {
	*n += 0x9e3779b97f4a7c15
	z := uint64(*n)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// between returns a whole number from low to high, both included.
func (n *noise) between(low, high int64) int64 {
	return low + int64(n.next()%uint64(high-low+1))
}
