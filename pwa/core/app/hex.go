package app

import "strconv"

// hexOf returns bytes as hexadecimal text: two characters a byte.
func hexOf(b []byte) string {
	const digits = "0123456789abcdef"
	text := make([]byte, 0, 2*len(b))
	for _, c := range b {
		text = append(text, digits[c>>4], digits[c&15])
	}
	return string(text)
}

// parseHex reads what hexOf wrote.
func parseHex(text string) ([]byte, error) {
	b := make([]byte, 0, (len(text)+1)/2)
	for len(text) > 0 {
		n := min(2, len(text))
		c, err := strconv.ParseUint(text[:n], 16, 8)
		if err != nil || n < 2 {
			return nil, errStorage
		}
		b, text = append(b, byte(c)), text[n:]
	}
	return b, nil
}
