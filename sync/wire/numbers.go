package wire

import "math/bits"

// numbers is the model of the numbers of one column: how long they are, after how long the one
// before was; then their leading bits. Of long numbers the rest is written as it is.
type numbers struct {
	lengths [4][16]chance // 15 stands for 15 and more
	longer  [64]chance    // how much more
	short   [64]chance    // the bits of a number of up to 6 bits
	leading [16][8]chance // the leading bits of a longer one; 22 bits and more share a row
	before  int           // class of the number before
}

// chance returns each chance of the model by its place among all.
func (m *numbers) chance(i int) *chance {
	switch {
	case i < 64:
		return &m.lengths[i/16][i%16]
	case i < 128:
		return &m.longer[i-64]
	case i < 192:
		return &m.short[i-128]
	default:
		return &m.leading[(i-192)/8][i%8]
	}
}

const allChances = 320 // of one model

const (
	shortBits   = 6
	leadingBits = 3 // of a number of more than shortBits
)

func leadingRow(length int) int { return min(length-shortBits-1, 15) }

func classOf(length int) int { return min(length, 3) }

func (e *encoder) number(m *numbers, v uint64) {
	length := bits.Len64(v)
	e.tree(m.lengths[m.before][:], uint32(min(length, 15)), 4)
	m.before = classOf(length)
	if length >= 15 {
		e.tree(m.longer[:], uint32(length-15), 6)
	}
	if length < 2 {
		return
	}
	if length <= shortBits {
		e.tree(m.short[1<<(length-1):], uint32(v)&(1<<(length-1)-1), length-1)
		return
	}
	rest := length - 1 - leadingBits
	e.tree(m.leading[leadingRow(length)][:], uint32(v>>rest)&(1<<leadingBits-1), leadingBits)
	for ; rest > 0; rest -= min(rest, 16) {
		n := min(rest, 16)
		e.plain(uint32(v>>(rest-n))&(1<<n-1), n)
	}
}

// tree writes v, of n bits, from the top; each bit's chance depends on those above it.
func (e *encoder) tree(nodes []chance, v uint32, n int) {
	node := uint32(1)
	for i := n - 1; i >= 0; i-- {
		bit := v >> i & 1
		e.bit(&nodes[node], bit)
		node = node<<1 | bit
	}
}

func (d *decoder) number(m *numbers) uint64 {
	length := int(d.tree(m.lengths[m.before][:], 4))
	m.before = classOf(length)
	if length == 15 {
		length += int(d.tree(m.longer[:], 6))
	}
	switch {
	case length == 0:
		return 0
	case length <= shortBits:
		return uint64(1<<(length-1) | d.tree(m.short[1<<(length-1):], length-1))
	case length > 64:
		d.at = len(d.in) + tailBytes + 1 // no such number: as if the bytes had run out
		return 0
	}
	rest := length - 1 - leadingBits
	v := uint64(1<<leadingBits | d.tree(m.leading[leadingRow(length)][:], leadingBits))
	for ; rest > 0; rest -= min(rest, 16) {
		n := min(rest, 16)
		v = v<<n | uint64(d.plain(n))
	}
	return v
}

func (d *decoder) tree(nodes []chance, n int) uint32 {
	node := uint32(1)
	for range n {
		node = node<<1 | d.bit(&nodes[node])
	}
	return node & (1<<n - 1)
}
