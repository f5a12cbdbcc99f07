package wire

// The coder narrows a range of 32 bits by each bit's chance: the better a bit was foretold, the
// less it takes. The range stays above 2 to the 24th; whole bytes leave at the top.
const (
	rangeBits = 1 << 24
	// tailBytes are the zero bytes that a decoder finds past the end. A coded text ends on a
	// multiple of 65536, so that they need not be written.
	tailBytes = 2
)

// encoder turns bits into bytes.
type encoder struct {
	out     []byte
	low     uint64
	width   uint32
	held    byte // the last byte, to which a carry may still come
	pending int  // bytes of 255 after it
	isBegun bool // whether held holds anything
}

func newEncoder() *encoder { return &encoder{width: 1<<32 - 1} }

func (e *encoder) bit(c *chance, bit uint32) {
	bound := uint32(uint64(e.width) * uint64(c.of65536()) >> 16)
	c.learn(bit)
	if bit == 1 {
		e.width = bound
	} else {
		e.low += uint64(bound)
		e.width -= bound
	}
	e.settle()
}

// plain writes n bits, at most 16, of which nothing is foretold.
func (e *encoder) plain(v uint32, n int) {
	e.width >>= n
	e.low += uint64(e.width) * uint64(v)
	e.settle()
}

func (e *encoder) settle() {
	for e.width < rangeBits {
		e.width <<= 8
		e.shift()
	}
}

// shift moves the top byte of low out, past a carry that is still to come.
func (e *encoder) shift() {
	if e.low < 0xff<<24 || e.low >= 1<<32 {
		carry := byte(e.low >> 32)
		if e.isBegun {
			e.out = append(e.out, e.held+carry)
		}
		for ; e.pending > 0; e.pending-- {
			e.out = append(e.out, 0xff+carry)
		}
		e.held, e.isBegun = byte(e.low>>24), true
	} else {
		e.pending++
	}
	e.low = e.low << 8 & (1<<32 - 1)
}

// end returns all bytes.
func (e *encoder) end() []byte {
	e.low = (e.low + 1<<16 - 1) &^ (1<<16 - 1)
	for range 5 - tailBytes {
		e.shift()
	}
	return e.out
}

// decoder turns the bytes back into bits. Past the end it reads zeros and counts them.
type decoder struct {
	in    []byte
	at    int
	code  uint32
	width uint32
}

func newDecoder(b []byte) *decoder {
	d := &decoder{in: b, width: 1<<32 - 1}
	for range 4 {
		d.next()
	}
	return d
}

func (d *decoder) next() {
	d.code <<= 8
	if d.at < len(d.in) {
		d.code |= uint32(d.in[d.at])
	}
	d.at++
}

// isOver reports whether more bytes were asked for than there can be.
func (d *decoder) isOver() bool { return d.at > len(d.in)+tailBytes }

// isWhole reports whether exactly the bytes that there are were read.
func (d *decoder) isWhole() bool { return d.at == len(d.in)+tailBytes }

func (d *decoder) bit(c *chance) uint32 {
	bound := uint32(uint64(d.width) * uint64(c.of65536()) >> 16)
	var bit uint32
	if d.code < bound {
		bit, d.width = 1, bound
	} else {
		d.code -= bound
		d.width -= bound
	}
	c.learn(bit)
	for d.width < rangeBits {
		d.width <<= 8
		d.next()
	}
	return bit
}

func (d *decoder) plain(n int) uint32 {
	d.width >>= n
	v := min(d.code/d.width, 1<<n-1)
	d.code -= v * d.width
	for d.width < rangeBits {
		d.width <<= 8
		d.next()
	}
	return v
}
