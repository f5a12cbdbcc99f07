package record

import (
	"slices"

	"evenhold/sync/clock"
)

// Register is one field: all that was ever written to it. The zero Register was never written.
type Register struct{ latest *entry }

// IsSet reports whether the field holds a value: it was written and not cleared.
func (r Register) IsSet() bool { return !r.Value().IsZero() }

// Value returns the winner's value, the zero Value if the field was never written.
func (r Register) Value() Value {
	if r.latest == nil {
		return Value{}
	}
	return r.latest.op.Value
}

// Winner returns the head with the highest stamp, the zero Operation if there is none.
//
// It is the latest operation of all: an operation replaces only earlier stamps, so nothing can
// replace the latest.
func (r Register) Winner() Operation {
	if r.latest == nil {
		return Operation{}
	}
	return *r.latest.op
}

// Also returns the heads that did not win, highest stamp first: what others recorded without
// having seen the winner.
func (r Register) Also() []Operation {
	heads := r.heads()
	if len(heads) < 2 {
		return nil
	}
	also := make([]Operation, 0, len(heads)-1)
	for _, e := range heads[1:] {
		also = append(also, *e.op)
	}
	return also
}

// Heads returns the stamps of the operations that no other replaces, in order.
func (r Register) Heads() []clock.Stamp {
	heads := r.heads()
	stamps := make([]clock.Stamp, 0, len(heads))
	for _, e := range slices.Backward(heads) {
		stamps = append(stamps, e.op.Stamp)
	}
	return stamps
}

// History returns all that was ever written to the field, in order of stamps.
func (r Register) History() []Operation {
	var all []Operation
	for e := r.latest; e != nil && !e.isMark(); e = e.older {
		all = append(all, *e.op)
	}
	slices.Reverse(all)
	return all
}

// heads returns the entries that no other replaces, highest stamp first.
func (r Register) heads() []*entry {
	if r.latest == nil {
		return nil
	}
	if r.latest.older == nil {
		return []*entry{r.latest}
	}
	replaced := map[clock.Stamp]bool{}
	for e := r.latest; e != nil; e = e.older {
		for _, stamp := range e.op.Replaces {
			replaced[stamp] = true
		}
	}
	var heads []*entry
	for e := r.latest; e != nil; e = e.older {
		if !e.isMark() && !replaced[e.op.Stamp] {
			heads = append(heads, e)
		}
	}
	return heads
}

func (r Register) isDisputed() bool {
	if r.latest.older == nil {
		return false
	}
	for _, e := range r.heads() {
		if e.op.Value != r.latest.op.Value {
			return true
		}
	}
	return false
}
