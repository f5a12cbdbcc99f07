package wire

// A chance is an estimate of how likely the next bit of its context is a 1, learnt from the bits
// before: 22 bits of probability above 10 bits that count the bits seen. The probability is kept
// as its difference from a half, so that the zero chance has seen nothing and expects nothing.
//
// Adaptive models and the arithmetic coder that uses them follow "Arithmetic coding for data
// compression", Communications of the ACM, 1987, doi:10.1145/214762.214771.
type chance uint32

const (
	chanceHalf  = 1 << 21
	chanceSeen  = 1<<10 - 1
	slowestStep = 60 // bits after which a chance no longer learns more slowly: our own choice
	leastChance = 24 // of 65536: no bit is ever held for certain
)

// steps[n] is how far a chance moves after n bits, of 65536: 1/(n+1.6). The 1.6, in place of
// the 2 of a plain average, trusts the first bits a little more: our own choice.
var steps = func() (s [slowestStep + 1]int32) {
	for n := range s {
		s[n] = int32(65536 * 10 / (10*n + 16))
	}
	return s
}()

// of65536 returns the probability of a 1.
func (c chance) of65536() uint32 {
	p := (uint32(c)>>10 ^ chanceHalf) >> 6
	return min(max(p, leastChance), 1<<16-leastChance)
}

// learn takes the bit into account.
func (c *chance) learn(bit uint32) {
	n := uint32(*c) & chanceSeen
	p := int32(uint32(*c)>>10 ^ chanceHalf)
	target := int32(bit * (1<<22 - 1))
	p += int32(int64(target-p) * int64(steps[n]) >> 16)
	if n < slowestStep {
		n++
	}
	*c = chance((uint32(p)^chanceHalf)<<10 | n)
}
