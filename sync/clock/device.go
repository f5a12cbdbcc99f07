package clock

import "errors"

// Device is the random identity of one install, made on the device itself. 0 is no device.
type Device uint64

// ErrDevice says that a text is not a device identity as Device.String writes it.
var ErrDevice = errors.New("not a device identity")

// alphabet is Crockford's base 32: digits and letters without i, l, o and u, which are easily
// misread. Common practice, no source.
const alphabet = "0123456789abcdefghjkmnpqrstvwxyz"

// deviceLength is the length of a device identity as text: 64 bits, five to a character.
const deviceLength = 13

// String returns the identity as 13 characters of Crockford's base 32 in lower case, so that
// texts sort as the numbers do.
func (d Device) String() string {
	var text [deviceLength]byte
	rest := uint64(d)
	for i := deviceLength - 1; i >= 0; i-- {
		text[i] = alphabet[rest&31]
		rest >>= 5
	}
	return string(text[:])
}

// ParseDevice reads what Device.String writes, and nothing else: one device, one spelling.
// It returns ErrDevice for any other text and for device 0.
func ParseDevice(s string) (Device, error) {
	if len(s) != deviceLength || s[0] > 'f' {
		return 0, ErrDevice
	}
	var d uint64
	for i := range len(s) {
		digit := digitOf(s[i])
		if digit < 0 {
			return 0, ErrDevice
		}
		d = d<<5 | uint64(digit)
	}
	if d == 0 {
		return 0, ErrDevice
	}
	return Device(d), nil
}

func digitOf(c byte) int {
	for i := range len(alphabet) {
		if alphabet[i] == c {
			return i
		}
	}
	return -1
}
