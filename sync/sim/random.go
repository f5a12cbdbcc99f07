package sim

// random is a small generator of its own, so that one seed is one run on every machine and
// with every version of Go. It is splitmix64; from memory.
type random struct{ state uint64 }

func (r *random) next() uint64 {
	r.state += 0x9e3779b97f4a7c15
	z := r.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// below returns a number from 0 to n-1.
func (r *random) below(n int) int { return int(r.next() % uint64(n)) }

// chance reports true in percent of all cases.
func (r *random) chance(percent int) bool { return r.below(100) < percent }

func pick[T any](r *random, from []T) T { return from[r.below(len(from))] }
