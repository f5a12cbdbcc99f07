package record

import (
	"errors"
	"strings"
)

// An order key is a text that says where a thing stands in a list that people rearrange: keys
// compare as texts, and between any two there is room for another. Digits are the bytes below;
// a key never ends in the lowest, or nothing would fit before it.
const orderDigits = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"

// ErrOrder says that a text is no order key, or that two keys are not in order.
var ErrOrder = errors.New("not order keys in order")

// Between returns a key after before and ahead of after. An empty before means the start of
// the list, an empty after its end. Two devices that ask for the same place get the same key:
// readers break the tie by record identifier. It returns ErrOrder if either is no key or before
// is not ahead of after.
func Between(before, after string) (string, error) {
	if !isOrderKey(before) || !isOrderKey(after) || after != "" && before >= after {
		return "", ErrOrder
	}
	shared := 0
	for shared < len(after) && digitAt(before, shared) == digitAt(after, shared) {
		shared++
	}
	low := digitAt(before, shared)
	high := len(orderDigits)
	if after != "" {
		high = digitAt(after, shared)
	}
	prefix := after[:shared]
	if middle := (low + high) / 2; middle > low {
		return prefix + orderDigits[middle:middle+1], nil
	}
	// The digits are neighbours: keep the lower one and find room after the rest of before.
	rest := ""
	if len(before) > shared {
		rest = before[shared+1:]
	}
	tail, err := Between(rest, "")
	return prefix + orderDigits[low:low+1] + tail, err
}

func isOrderKey(key string) bool {
	for i := range len(key) {
		if strings.IndexByte(orderDigits, key[i]) < 0 {
			return false
		}
	}
	return key == "" || key[len(key)-1] != orderDigits[0]
}

// digitAt returns the lowest digit past the end of key.
func digitAt(key string, at int) int {
	if at >= len(key) {
		return 0
	}
	return strings.IndexByte(orderDigits, key[at])
}
